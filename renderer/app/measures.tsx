import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { api } from '#renderer/client/api.ts'
import { MeasuresInUse } from '#renderer/parts/format.ts'

/** Every screen writes and reads its numbers in the measures of the House Rules. */
export function HouseMeasures({ children }: { children: ReactNode }) {
  const rule =
    useQuery(
      api.houseRules.list.queryOptions({
        select: (rules) => rules.find(({ name }) => name === 'measures')?.value ?? 0,
      }),
    ).data ?? 0
  return <MeasuresInUse rule={rule}>{children}</MeasuresInUse>
}
