import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { api } from '#renderer/client/api.ts'
import { MeasuresInUse } from '#renderer/parts/format.ts'

/**
 * Every screen writes and reads its numbers in the measures of the House Rules: none is drawn before they are known, so
 * that no figure stands there in others first. Without an open file the first of the choices hold.
 */
export function HouseMeasures({ children }: { children: ReactNode }) {
  const { data: rule = 0, isPending } = useQuery(
    api.houseRules.list.queryOptions({
      select: (rules) => rules.find(({ name }) => name === 'measures')?.value ?? 0,
    }),
  )
  return isPending ? (
    <output className="shell-wait">Opening…</output>
  ) : (
    <MeasuresInUse rule={rule}>{children}</MeasuresInUse>
  )
}
