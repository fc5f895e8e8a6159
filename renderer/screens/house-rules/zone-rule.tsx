import { Button, Select } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import { zoneLabel } from '#core/words/house-rules.ts'
import { api, client } from '#renderer/client/api.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { useSaveForm } from '#renderer/parts/save-form.tsx'
import { phrase } from '#core/words/phrase.ts'

/** Names in the order of the alphabet; the list of browsers leaves UTC out. */
const zones = ['UTC', ...Intl.supportedValuesOf('timeZone').filter((zone) => zone !== 'UTC')]
const mostShown = 80

type StoredZone = Awaited<ReturnType<typeof client.houseRules.zone>>

/** The zone of the fleet's days, chosen from the list of the world's and saved like every other rule. */
function ZoneForm({ stored: { zone, machine }, onSaved }: { stored: StoredZone; onSaved: (said: string) => void }) {
  const [chosen, setChosen] = useState<{ readonly was: string; readonly zone: string } | null>(null)
  const form = useSaveForm({
    start: { zone },
    draft: {
      value: { zone: chosen?.zone ?? zone },
      typed: chosen !== null,
      restored: false,
      set: ({ zone: next }) => setChosen(next === zone ? null : { was: zone, zone: next }),
      clear: () => setChosen(null),
    },
    save: ({ zone: next }, by) => client.houseRules.changeZone({ was: chosen?.was ?? zone, zone: next, by }),
    onSaved: ({ zone: next }) => {
      setChosen(null)
      onSaved(phrase('Saved. The fleet’s days are counted in {next}.', { next }))
    },
  })
  // Another window was first: its zone is there by now, and is chosen anew.
  const failure = form.conflict ?? form.failure
  return (
    <form ref={form.element} className="flow zone-rule" onSubmit={form.submit} noValidate>
      <Select
        {...form.field('zone')}
        label={zoneLabel()}
        description={phrase('A new fleet begins with its computer’s, here {machine}', { machine })}
        searchable
        allowDeselect={false}
        limit={mostShown}
        nothingFoundMessage={phrase('No such zone')}
        data={zones.includes(zone) ? zones : [zone, ...zones]}
        error={failure && problemText(failure)}
        errorProps={{ role: 'alert' }}
        disabled={form.isPending}
        onChange={(next) => form.type('zone', next ?? zone)}
      />
      {chosen !== null && (
        <Button variant="filled" type="submit" loading={form.isPending}>
          {phrase('Save the time zone')}
        </Button>
      )}
    </form>
  )
}

export function ZoneRule({ onSaved }: { onSaved: (said: string) => void }) {
  const stored = useQuery(api.houseRules.zone.queryOptions()).data
  return stored && <ZoneForm stored={stored} onSaved={onSaved} />
}
