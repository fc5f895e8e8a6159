import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useMemo, useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { leaveOnDesk, readFromDesk } from '#renderer/client/desk.ts'
import { DeskContext } from '#renderer/parts/draft.ts'
import { MeasuresInUse } from '#renderer/parts/format.ts'
import { useStanding } from '#renderer/parts/rights.ts'
import { phrase } from '#core/words/phrase.ts'

/** Stands in where no file can be opened to ask for the fleet's. */
const ownZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone

/**
 * Every screen writes and reads its numbers in the measures of the House Rules and its times in their zone, and keeps
 * drafts beside the open file. Nothing is drawn before they are known, so that no figure is shown in another.
 */
export function FleetInUse({ children }: { children: ReactNode }) {
  const rules = useQuery(
    api.houseRules.list.queryOptions({
      select: (list) => list.find(({ name }) => name === 'measures')?.value ?? 0,
    }),
  )
  const zone = useQuery(api.houseRules.zone.queryOptions())
  const file = useQuery(api.file.state.queryOptions({ select: (state) => state.file }))
  const standing = useStanding()
  // Several people may work at one desk after one another, each on drafts of their own.
  const own = standing.at === 'desk' && standing.person ? ` ${standing.person.name}` : ''
  const place = file.data === undefined ? undefined : `${file.data}${own}`
  const desk = useMemo(() => ({ file: place, leave: leaveOnDesk, read: readFromDesk }), [place])
  // Once: a question that failed is pending again each time it is asked anew.
  const [isAnswered, setAnswered] = useState(false)
  if (!isAnswered && !rules.isPending && !zone.isPending && !file.isPending) setAnswered(true)
  if (!isAnswered) return <output className="shell-wait">{phrase('Opening…')}</output>
  return (
    <DeskContext value={desk}>
      <MeasuresInUse rule={rules.data ?? 0} zone={zone.data?.zone ?? ownZone()}>
        {children}
      </MeasuresInUse>
    </DeskContext>
  )
}
