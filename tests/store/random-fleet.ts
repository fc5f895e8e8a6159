import fc from 'fast-check'
import type { Store } from '#core/store/open.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { eventKinds, groupRoles, liftStates, measures, unitKinds } from '#core/words/vocabulary.ts'

/** Rows as a fleet might come to have them, references by place in the other lists; places wrap around. */
const when = fc.integer({ min: 0, max: 700 }).map((days) => Date.UTC(2024, 0, 1, 12) + days * 86_400_000)
const place = fc.nat(50)
const maybe = <T>(value: fc.Arbitrary<T>) => fc.option(value, { nil: null })

export const fleets = fc.record({
  units: fc.array(
    fc.record({
      kind: fc.constantFrom(...unitKinds),
      groups: fc.array(
        fc.record({
          role: fc.constantFrom(...groupRoles),
          axles: fc.integer({ min: 1, max: 3 }),
          firstAxleFt: maybe(fc.integer({ min: 0, max: 40 })),
          measuredBy: maybe(fc.constantFrom(...measures)),
          circuits: fc.array(
            fc.record({ airSprings: maybe(fc.constantFrom<number>(2, 4)), mounts: fc.array(when, { maxLength: 2 }) }),
            { maxLength: 2 },
          ),
        }),
        { minLength: 1, maxLength: 3 },
      ),
    }),
    { minLength: 1, maxLength: 4 },
  ),
  scales: fc.array(
    fc.record({ divisionLb: maybe(fc.constantFrom<number>(10, 20)), tolerance: maybe(fc.constant<number>(0.2)) }),
    { minLength: 1, maxLength: 2 },
  ),
  tickets: fc.array(
    fc.record({
      scale: place,
      at: when,
      grossLb: maybe(fc.integer({ min: 20_000, max: 80_000 })),
      groups: fc.array(place, { minLength: 1, maxLength: 5 }),
      missing: fc.boolean(),
    }),
    { maxLength: 6 },
  ),
  readings: fc.array(
    fc.record({
      at: when,
      ticket: maybe(place),
      lift: maybe(fc.constantFrom(...liftStates)),
      circuits: fc.array(fc.record({ circuit: place, psi: fc.integer({ min: 5, max: 100 }) }), {
        minLength: 1,
        maxLength: 6,
      }),
    }),
    { maxLength: 12 },
  ),
  calibrations: fc.array(
    fc.record({
      group: place,
      at: when,
      voided: fc.boolean(),
      points: fc.array(fc.tuple(place, place), { minLength: 1, maxLength: 4 }),
    }),
    { maxLength: 5 },
  ),
  events: fc.array(fc.record({ unit: place, group: maybe(place), at: when, kind: fc.constantFrom(...eventKinds) }), {
    maxLength: 5,
  }),
})

export type FleetPlan = typeof fleets extends fc.Arbitrary<infer T> ? T : never

const at = <T>(list: readonly T[], index: number): T => list[index % list.length] as T

/** Inserts a plan through Kysely; what would break a uniqueness rule is left out. Returns the unit ids. */
export async function insertFleet(store: Store, plan: FleetPlan): Promise<number[]> {
  store.raw.exec('begin')
  const units = await insertRows(store, plan)
  store.raw.exec('commit')
  return units
}

async function insertRows({ db }: Store, plan: FleetPlan): Promise<number[]> {
  const units: number[] = []
  const groups: { id: number; unitId: number }[] = []
  const circuits: number[] = []
  const idOf = (row: { id: number }) => row.id
  for (const [u, unit] of plan.units.entries()) {
    const unitId = idOf(
      await db
        .insertInto('unit')
        .values({
          number: `U-${9 - u}`,
          kind: unit.kind,
          vin: null,
          plate: null,
          plate_region: null,
          make: null,
          model: null,
          model_year: null,
          yard_id: null,
          gross_limit_lb: null,
          fifth_wheel_ft: null,
        })
        .returning('id')
        .executeTakeFirstOrThrow(),
    )
    units.push(unitId)
    for (const [g, group] of unit.groups.entries()) {
      const groupId = idOf(
        await db
          .insertInto('axle_group')
          .values({
            unit_id: unitId,
            name: `G${g}`,
            role: group.role,
            axles: group.axles,
            first_axle_ft: group.firstAxleFt,
            axle_spacing_ft: null,
            limit_lb: null,
            measured_by: group.measuredBy,
          })
          .returning('id')
          .executeTakeFirstOrThrow(),
      )
      groups.push({ id: groupId, unitId })
      for (const [c, circuit] of group.circuits.entries()) {
        const circuitId = idOf(
          await db
            .insertInto('circuit')
            .values({
              group_id: groupId,
              name: `C${c}`,
              air_springs: circuit.airSprings,
              spring_area_in2: null,
              ride_height_in: null,
            })
            .returning('id')
            .executeTakeFirstOrThrow(),
        )
        circuits.push(circuitId)
        for (const [m, mountedAt] of [...new Set(circuit.mounts)].entries()) {
          const sensorId = idOf(
            await db
              .insertInto('sensor')
              .values({
                serial: `S-${circuitId}-${m}`,
                reference: m === 0 ? 'gauge' : 'absolute',
                range_psi: 150,
                resolution_psi: 0.1,
                accuracy_psi: 1,
                cell: null,
                report_every_s: null,
              })
              .returning('id')
              .executeTakeFirstOrThrow(),
          )
          await db
            .insertInto('mount')
            .values({
              sensor_id: sensorId,
              circuit_id: circuitId,
              mounted_at: toStoredInstant(mountedAt),
              removed_at: null,
              teed_in_at: null,
              mounted_where: null,
              line_length_in: null,
              leak_check: null,
              gauge_psi: null,
              gauge_sensor_psi: null,
            })
            .execute()
        }
      }
    }
  }
  const scales: number[] = []
  for (const [s, scale] of plan.scales.entries()) {
    scales.push(
      idOf(
        await db
          .insertInto('scale')
          .values({
            name: `Scale ${s}`,
            division_lb: scale.divisionLb,
            elevation_ft: null,
            tolerance_percent: scale.tolerance,
          })
          .returning('id')
          .executeTakeFirstOrThrow(),
      ),
    )
  }
  const tickets: number[] = []
  for (const [t, ticket] of plan.tickets.entries()) {
    const ticketId = idOf(
      await db
        .insertInto('ticket')
        .values({
          scale_id: at(scales, ticket.scale),
          number: `N${t}`,
          weighed_at: toStoredInstant(ticket.at),
          local_zone: null,
          gross_lb: ticket.grossLb,
          note: null,
        })
        .returning('id')
        .executeTakeFirstOrThrow(),
    )
    tickets.push(ticketId)
    const weighed = [...new Set(ticket.groups.map((g) => at(groups, g)))]
    for (const [w, { id, unitId }] of weighed.entries()) {
      await db
        .insertInto('ticket_weight')
        .values({ ticket_id: ticketId, unit_id: unitId, group_id: id, weight_lb: 9000 + 4000 * w + 10 * id })
        .execute()
    }
    if (ticket.missing)
      await db
        .insertInto('ticket_weight')
        .values({ ticket_id: ticketId, unit_id: at(units, ticket.scale), group_id: null, weight_lb: null })
        .execute()
  }
  const readings: number[] = []
  for (const [r, reading] of plan.readings.entries()) {
    const ticketId = reading.ticket === null || tickets.length === 0 ? null : at(tickets, reading.ticket)
    const readingId = idOf(
      await db
        .insertInto('reading')
        .values({
          name: `R${r}`,
          taken_at: toStoredInstant(reading.at),
          local_zone: null,
          ticket_id: ticketId,
          elevation_ft: 800,
          temperature_f: null,
          lift: reading.lift,
          source: null,
          note: null,
        })
        .returning('id')
        .executeTakeFirstOrThrow(),
    )
    readings.push(readingId)
    if (circuits.length === 0) continue
    const pressures = new Map(reading.circuits.map(({ circuit, psi }) => [at(circuits, circuit), psi]))
    for (const [circuitId, psi] of pressures)
      await db.insertInto('reading_pressure').values({ reading_id: readingId, circuit_id: circuitId, psi }).execute()
  }
  const valid = new Set<string>()
  for (const { group, at: calibratedAt, voided, points } of tickets.length > 0 && readings.length > 0
    ? plan.calibrations
    : []) {
    const { id: groupId } = at(groups, group)
    const key = `${groupId} ${calibratedAt}`
    if (!voided && valid.has(key)) continue
    if (!voided) valid.add(key)
    const calibrationId = idOf(
      await db
        .insertInto('calibration')
        .values({
          group_id: groupId,
          calibrated_at: toStoredInstant(calibratedAt),
          calibrated_by: null,
          voided_at: voided ? toStoredInstant(calibratedAt) : null,
          voided_by: null,
          void_reason: voided ? 'mistyped' : null,
        })
        .returning('id')
        .executeTakeFirstOrThrow(),
    )
    const pairs = new Map(
      points.map(([t, r]) => [
        `${at(tickets, t)} ${at(readings, r)}`,
        { ticket_id: at(tickets, t), reading_id: at(readings, r) },
      ]),
    )
    for (const pair of pairs.values())
      await db
        .insertInto('calibration_point')
        .values({ calibration_id: calibrationId, ...pair })
        .execute()
  }
  for (const { unit, group, at: happenedAt, kind } of plan.events) {
    const own = groups.filter(({ unitId }) => unitId === at(units, unit))
    await db
      .insertInto('event')
      .values({
        unit_id: at(units, unit),
        group_id: group === null ? null : at(own, group).id,
        circuit_id: null,
        happened_at: toStoredInstant(happenedAt),
        kind,
        note: null,
      })
      .onConflict((conflict) => conflict.doNothing())
      .execute()
  }
  return units
}
