import { Button, Select } from '@mantine/core'
import { isDefinedError } from '@orpc/client'
import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query'
import { type SubmitEvent, useState } from 'react'
import { zoneLabel } from '#core/words/house-rules.ts'
import { api } from '#renderer/client/api.ts'
import { personNow } from '#renderer/parts/person.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'

/** Names in the order of the alphabet; the list of browsers leaves UTC out. */
const zones = ['UTC', ...Intl.supportedValuesOf('timeZone').filter((zone) => zone !== 'UTC')]
const mostShown = 80

/** The zone of the fleet's days, chosen from the list of the world's and saved like every other rule. */
export function ZoneRule({ onSaved }: { onSaved: (said: string) => void }) {
  const client = useQueryClient()
  const stored = useQuery(api.houseRules.zone.queryOptions()).data
  const [chosen, setChosen] = useState<{ readonly was: string; readonly zone: string } | null>(null)
  const change = useMutation(
    api.houseRules.changeZone.mutationOptions({
      onSuccess: ({ zone }) => {
        setChosen(null)
        onSaved(`Saved. The fleet’s days are counted in ${zone}.`)
        return client.invalidateQueries()
      },
      onError: (error) => {
        if (isDefinedError(error) && error.code === 'CONFLICT') setChosen(null)
        return client.invalidateQueries({ queryKey: api.houseRules.zone.queryKey() })
      },
    }),
  )
  if (!stored) return null
  const { zone, machine } = stored
  const submit = async (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    if (chosen === null) return
    const by = await personNow()
    if (by !== null) change.mutate({ ...chosen, by })
  }
  return (
    <form className="zone-rule" onSubmit={submit} noValidate>
      <Select
        label={zoneLabel}
        description={`A new fleet begins with its computer’s, here ${machine}`}
        searchable
        allowDeselect={false}
        limit={mostShown}
        nothingFoundMessage="No such zone"
        data={zones.includes(zone) ? zones : [zone, ...zones]}
        value={chosen?.zone ?? zone}
        error={change.isError && problemText(change.error)}
        errorProps={{ role: 'alert' }}
        disabled={change.isPending}
        onChange={(next) => setChosen(next === null || next === zone ? null : { was: zone, zone: next })}
      />
      {chosen !== null && (
        <Button type="submit" loading={change.isPending}>
          Save the time zone
        </Button>
      )}
    </form>
  )
}
