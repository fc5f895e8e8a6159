import { useEffect } from 'react'
import { api } from '#renderer/client/api.ts'
import { queryClient } from '#renderer/client/query-client.ts'

/** More combinations than a driver is given are not asked for in advance. */
const mostCombinations = 6

/** Asks for what weighing without the house needs, so that it is kept before the house is gone. */
async function getReady(): Promise<void> {
  await queryClient.prefetchQuery(api.scales.list.queryOptions())
  const { units, usual } = await queryClient.fetchQuery(api.weigh.combinations.queryOptions())
  const leads = units.filter(({ kind }) => kind !== 'trailer')
  for (const { unit } of (leads.length > 0 ? leads : units).slice(0, mostCombinations)) {
    const together = usual.find((each) => each.unit === unit)?.units.filter((each) => each !== unit) ?? []
    const input = { units: [unit, ...together] }
    await queryClient.prefetchQuery(api.weighIn.prepare.queryOptions({ input }))
    await queryClient.prefetchQuery(api.weigh.preview.queryOptions({ input }))
    // A cab card is of one unit.
    for (const each of input.units)
      await queryClient.prefetchQuery(api.weigh.preview.queryOptions({ input: { units: [each] } }))
  }
}

/** On what is held in a hand, has all at hand that a person with some units needs at a scale without a network. */
export function useReadyForTheRoad(isDriver: boolean): void {
  useEffect(() => {
    // What fails here is asked again by the screen that needs it.
    if (isDriver && matchMedia('(pointer: coarse)').matches) getReady().catch(() => undefined)
  }, [isDriver])
}
