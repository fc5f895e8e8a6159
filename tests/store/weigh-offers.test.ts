import { describe, expect, it } from 'vitest'
import type { WeighingOffer } from '#core/findings/weigh-next.ts'
import { readWeighingOffers } from '#core/store/bench.ts'
import { readScales } from '#core/store/histories.ts'
import type { Store } from '#core/store/open.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { addRow } from '#tests/fleet/rows.ts'

const offerOn = (scaleIds: readonly number[], regained: number): WeighingOffer => ({
  lift: null,
  uNowLb: 450,
  weighings: scaleIds.map((scaleId) => ({
    load: 'loaded',
    scaleId,
    uAfterLb: 210,
    regained,
    why: ['few', { weighings: 3, workedAt: null }],
    isWorthTrip: true,
  })),
})

/** A unit with one group and what is offered to it. */
function addOffer(store: Store, number: string, offer: WeighingOffer | null, isRetired = false): void {
  const unitId = addRow(store, 'unit', { number, kind: 'tractor', service_state: isRetired ? 'retired' : 'in service' })
  const groupId = addRow(store, 'axle_group', { unit_id: unitId, name: 'drive', role: 'drive', axles: 2 })
  addRow(store, 'group_standing', {
    group_id: groupId,
    unit_id: unitId,
    trust: 'sound',
    weigh_next: offer && JSON.stringify(offer),
    weigh_regains: offer?.weighings[0]?.regained ?? null,
  })
}

describe('readWeighingOffers', () => {
  it('reads what is offered to units in service, on scales that are still there', () =>
    withStore(async (store) => {
      const pit = addRow(store, 'scale', { name: 'Pit scale' })
      const gone = pit + 1
      addOffer(store, 'T-1', offerOn([gone, pit], 0.3))
      addOffer(store, 'T-2', offerOn([gone], 0.9))
      addOffer(store, 'T-3', offerOn([pit], 0.9), true)
      addOffer(store, 'T-4', null)
      const offers = readWeighingOffers(store, readScales(store))
      expect(offers).toEqual([
        { ...offerOn([pit], 0.3), group: 'drive', unitId: offers[0]?.unitId, unit: 'T-1', yard: null },
      ])
    }))

  it('looks at the units of a large fleet that could regain most', () =>
    withStore(async (store) => {
      const pit = addRow(store, 'scale', { name: 'Pit scale' })
      for (let i = 0; i < 150; i += 1) addOffer(store, `T-${i}`, offerOn([pit], (i * 37) % 150))
      const offers = readWeighingOffers(store, readScales(store))
      expect(offers.length).toBe(100)
      for (const { weighings } of offers) expect(weighings[0]?.regained).toBeGreaterThanOrEqual(50)
    }))
})
