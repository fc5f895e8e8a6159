import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { api } from '#renderer/client/api.ts'
import { MeasuresInUse } from '#renderer/parts/format.ts'

/** Stands in until the fleet's zone is known, and where no file can be opened to ask. */
const ownZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone

/** Every screen writes and reads its numbers in the measures of the House Rules, and its times in their zone. */
export function HouseMeasures({ children }: { children: ReactNode }) {
  const rule =
    useQuery(
      api.houseRules.list.queryOptions({
        select: (rules) => rules.find(({ name }) => name === 'measures')?.value ?? 0,
      }),
    ).data ?? 0
  const zone = useQuery(api.houseRules.zone.queryOptions()).data?.zone ?? ownZone()
  return (
    <MeasuresInUse rule={rule} zone={zone}>
      {children}
    </MeasuresInUse>
  )
}
