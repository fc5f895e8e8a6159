import fc from 'fast-check'
import type { Store } from '#core/store/open.ts'
import { type FleetPlan, insertFleet } from '#tests/store/random-fleet.ts'

/**
 * Trips of two tractors (drive with a circuit, steer without) and two trailers, with and without a ticket, light and
 * heavy.
 */
export const trips = fc.array(
  fc.record({
    tractor: fc.nat(1),
    trailer: fc.option(fc.nat(1), { nil: null }),
    drivePsi: fc.integer({ min: 15, max: 85 }),
    tandemPsi: fc.integer({ min: 15, max: 85 }),
    day: fc.integer({ min: 0, max: 600 }),
    ticket: fc.boolean(),
    isDriveRead: fc.boolean(),
  }),
  { minLength: 6, maxLength: 20 },
)
export type Trips = typeof trips extends fc.Arbitrary<infer T> ? T : never

const start = Date.UTC(2024, 0, 1, 12)
const dayMs = 86_400_000
const group = (
  role: FleetPlan['units'][number]['groups'][number]['role'],
  axles: number,
  firstAxleFt: number,
  sensed: boolean,
) => ({
  role,
  axles,
  firstAxleFt,
  measuredBy: sensed ? ('circuit' as const) : null,
  circuits: sensed ? [{ airSprings: 4, mounts: [start - dayMs] }] : [],
})

/**
 * Inserts the trips in the order given; every group is calibrated with all its ticketed trips of the first half, and
 * weighs 1,000 lb and 450 lb a psi.
 */
export async function insertTrips(store: Store, list: Trips): Promise<void> {
  const tractor = { kind: 'tractor' as const, groups: [group('steer', 1, 0, false), group('drive', 2, 17, true)] }
  const trailer = { kind: 'trailer' as const, groups: [group('trailer', 2, 25, true)] }
  const known = list.slice(0, Math.ceil(list.length / 2))
  const ticketed = list.filter(({ ticket }) => ticket)
  const readOf = ({ tractor: t, trailer: v, drivePsi, tandemPsi, isDriveRead, ticket }: Trips[number]) => [
    ...(isDriveRead || ticket || v === null ? [{ circuit: t, psi: drivePsi }] : []),
    ...(v === null ? [] : [{ circuit: 2 + v, psi: tandemPsi }]),
  ]
  await insertFleet(store, {
    units: [tractor, tractor, trailer, trailer],
    scales: [{ divisionLb: 20, tolerance: 0.2 }],
    tickets: ticketed.map(({ tractor: t, trailer: v, day }) => ({
      scale: 0,
      at: start + day * dayMs,
      grossLb: null,
      missing: false,
      groups: [2 * t, 2 * t + 1, ...(v === null ? [] : [4 + v])],
    })),
    readings: list.map((trip) => ({
      at: start + trip.day * dayMs,
      ticket: trip.ticket ? ticketed.indexOf(trip) : null,
      lift: null,
      circuits: readOf(trip),
    })),
    calibrations: [1, 3, 4, 5].flatMap((place) => {
      const points = known.filter(
        (trip) => trip.ticket && (place < 4 ? trip.tractor === (place - 1) / 2 : trip.trailer === place - 4),
      )
      return points.length < 2
        ? []
        : [
            {
              group: place,
              at: start + Math.max(...points.map(({ day }) => day)) * dayMs,
              voided: false,
              points: points.map((trip): [number, number] => [ticketed.indexOf(trip), list.indexOf(trip)]),
            },
          ]
    }),
    events: [],
  })
  store.raw.exec(
    "update axle_group set axle_spacing_ft = 4.5 where axles = 2; update unit set fifth_wheel_ft = 16 where kind = 'tractor'",
  )
  const setWeight = store.raw.prepare('update ticket_weight set weight_lb = ? where ticket_id = ? and group_id = ?')
  for (const [i, { tractor: t, trailer: v, drivePsi, tandemPsi }] of ticketed.entries()) {
    const driveLb = 1000 + 450 * drivePsi + 20 * (i % 3)
    setWeight.run(9000 + 0.1 * driveLb, i + 1, 2 * t + 1)
    setWeight.run(driveLb, i + 1, 2 * t + 2)
    if (v !== null) setWeight.run(1000 + 450 * tandemPsi + 20 * (i % 2), i + 1, 5 + v)
  }
}
