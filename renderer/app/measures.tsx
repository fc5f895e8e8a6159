import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { api } from '#renderer/client/api.ts'
import { MeasuresInUse } from '#renderer/parts/format.ts'

/** Stands in where no file can be opened to ask for the fleet's zone. */
const ownZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone

/**
 * Every screen writes and reads its numbers in the measures of the House Rules, and its times in their zone: none is
 * drawn before they are known, so that no figure stands there in others first.
 */
export function HouseMeasures({ children }: { children: ReactNode }) {
  const rule = useQuery(
    api.houseRules.list.queryOptions({
      select: (rules) => rules.find(({ name }) => name === 'measures')?.value ?? 0,
    }),
  )
  const zone = useQuery(api.houseRules.zone.queryOptions())
  if (rule.isPending || zone.isPending) return <output className="shell-wait">Opening…</output>
  return (
    <MeasuresInUse rule={rule.data ?? 0} zone={zone.data?.zone ?? ownZone()}>
      {children}
    </MeasuresInUse>
  )
}
