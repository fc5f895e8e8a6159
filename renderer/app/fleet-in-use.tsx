import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useMemo } from 'react'
import { api } from '#renderer/client/api.ts'
import { leaveOnDesk, readFromDesk } from '#renderer/client/desk.ts'
import { DeskContext } from '#renderer/parts/draft.ts'
import { MeasuresInUse } from '#renderer/parts/format.ts'

/** Stands in until the fleet's zone is known, and where no file can be opened to ask. */
const ownZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone

/**
 * Every screen writes and reads its numbers in the measures of the House Rules and its times in their zone, and keeps
 * drafts beside the open file.
 */
export function FleetInUse({ children }: { children: ReactNode }) {
  const rule =
    useQuery(
      api.houseRules.list.queryOptions({
        select: (rules) => rules.find(({ name }) => name === 'measures')?.value ?? 0,
      }),
    ).data ?? 0
  const zone = useQuery(api.houseRules.zone.queryOptions()).data?.zone ?? ownZone()
  const file = useQuery(api.file.state.queryOptions({ select: (state) => state.file })).data
  const desk = useMemo(() => ({ file, leave: leaveOnDesk, read: readFromDesk }), [file])
  return (
    <DeskContext value={desk}>
      <MeasuresInUse rule={rule} zone={zone}>
        {children}
      </MeasuresInUse>
    </DeskContext>
  )
}
