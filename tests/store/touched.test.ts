import { expect, it } from 'vitest'
import { lookUpTouched } from '#core/store/touched.ts'
import { insertTrips } from '#tests/store/loaded-fleet.ts'
import { withStore } from '#tests/store/temporary-store.ts'

/** Tractor 1 with trailer 3, tractor 2 alone; both weighed. */
const fleet = [1, 2, 3].flatMap((i) => [
  { tractor: 0, trailer: 0, drivePsi: 20 * i, tandemPsi: 20 * i, day: i, ticket: true, isDriveRead: true },
  { tractor: 1, trailer: null, drivePsi: 20 * i, tandemPsi: 20 * i, day: i, ticket: true, isDriveRead: true },
])

it.each([
  ['an axle group of the trailer', { subject: 'axle group', action: 'changed', recordId: 5 }, [1, 3]],
  [
    'the kind of the trailer',
    { subject: 'unit', action: 'changed', recordId: 3, old: { kind: 'trailer' }, new: { kind: 'truck' } },
    [1, 3],
  ],
  [
    'the yard of the trailer',
    { subject: 'unit', action: 'changed', recordId: 3, old: { yard_id: null }, new: { yard_id: 1 } },
    [3],
  ],
] as const)(
  '%s touches the weights of whoever stood on a ticket with it, where their sum to gross rests on it',
  (_, change, touched) =>
    withStore(async (store) => {
      await insertTrips(store, fleet)
      const { weigh, judge } = await store.db
        .transaction()
        .execute((db) => lookUpTouched(db, [{ key: 'C-1', unitId: 3, ...change }]))
      expect([...weigh].sort((a, b) => a - b)).toEqual(touched)
      expect([...judge].sort((a, b) => a - b)).toEqual(touched)
    }),
)
