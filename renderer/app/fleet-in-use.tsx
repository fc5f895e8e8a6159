import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useMemo } from 'react'
import { api } from '#renderer/client/api.ts'
import { leaveOnDesk, readFromDesk } from '#renderer/client/desk.ts'
import { DeskContext } from '#renderer/parts/draft.ts'
import { MeasuresInUse } from '#renderer/parts/format.ts'

/** Every screen writes and reads its numbers in the measures of the House Rules, and keeps drafts beside the open file. */
export function FleetInUse({ children }: { children: ReactNode }) {
  const rule =
    useQuery(
      api.houseRules.list.queryOptions({
        select: (rules) => rules.find(({ name }) => name === 'measures')?.value ?? 0,
      }),
    ).data ?? 0
  const file = useQuery(api.file.state.queryOptions({ select: (state) => state.file })).data
  const desk = useMemo(() => ({ file, leave: leaveOnDesk, read: readFromDesk }), [file])
  return (
    <DeskContext value={desk}>
      <MeasuresInUse rule={rule}>{children}</MeasuresInUse>
    </DeskContext>
  )
}
