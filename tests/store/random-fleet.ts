import fc from 'fast-check'
import type { Store } from '#core/store/open.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { addRow } from '#tests/fleet/rows.ts'
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
    fc.record(
      {
        scale: place,
        at: when,
        grossLb: maybe(fc.integer({ min: 20_000, max: 80_000 })),
        groups: fc.array(place, { minLength: 1, maxLength: 5 }),
        missing: fc.boolean(),
        together: fc.boolean(),
      },
      { requiredKeys: ['scale', 'at', 'grossLb', 'groups', 'missing'] },
    ),
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

/** Inserts a plan; what would break a uniqueness rule is left out. Returns the unit ids. */
export async function insertFleet(store: Store, plan: FleetPlan): Promise<number[]> {
  return store.raw.transaction(() => insertRows(store, plan))()
}

function insertRows(store: Store, plan: FleetPlan): number[] {
  const groups: { id: number; unitId: number }[] = []
  const circuits: number[] = []
  const units = plan.units.map(({ kind, groups: own }, u) => {
    const unitId = addRow(store, 'unit', { number: `U-${9 - u}`, kind })
    for (const [g, { role, axles, firstAxleFt, measuredBy, circuits: sensed }] of own.entries()) {
      const id = addRow(store, 'axle_group', {
        unit_id: unitId,
        name: `G${g}`,
        role,
        axles,
        first_axle_ft: firstAxleFt,
        measured_by: measuredBy,
      })
      groups.push({ id, unitId })
      for (const [c, { airSprings, mounts }] of sensed.entries()) {
        const circuitId = addRow(store, 'circuit', { group_id: id, name: `C${c}`, air_springs: airSprings })
        circuits.push(circuitId)
        for (const [m, mountedAt] of [...new Set(mounts)].entries()) {
          const reference = m === 0 ? 'gauge' : 'absolute'
          const sensorId = addRow(store, 'sensor', { serial: `S-${circuitId}-${m}`, reference })
          addRow(store, 'mount', {
            sensor_id: sensorId,
            circuit_id: circuitId,
            mounted_at: toStoredInstant(mountedAt),
          })
        }
      }
    }
    return unitId
  })
  const scales = plan.scales.map(({ divisionLb, tolerance }, s) =>
    addRow(store, 'scale', { name: `Scale ${s}`, division_lb: divisionLb, tolerance_percent: tolerance }),
  )
  const tickets = plan.tickets.map((ticket, t) => {
    const ticketId = addRow(store, 'ticket', {
      scale_id: at(scales, ticket.scale),
      number: `N${t}`,
      weighed_at: toStoredInstant(ticket.at),
      gross_lb: ticket.grossLb,
    })
    const weighed = [...new Set(ticket.groups.map((g) => at(groups, g)))]
    const [one, other] = ticket.together ? weighed.toSorted((a, b) => a.id - b.id) : []
    const pair = one && other && one.unitId === other.unitId ? ([one.id, other.id] as const) : undefined
    for (const [w, { id, unitId }] of weighed.entries())
      if (!pair?.includes(id))
        addRow(store, 'ticket_weight', {
          ticket_id: ticketId,
          unit_id: unitId,
          group_id: id,
          weight_lb: 9000 + 4000 * w + 10 * id,
        })
    if (one && pair)
      addRow(store, 'ticket_together', {
        ticket_id: ticketId,
        unit_id: one.unitId,
        first_group_id: pair[0],
        second_group_id: pair[1],
        weight_lb: 21_000 + 10 * one.id,
      })
    const named = new Set([...(one && pair ? [one.unitId] : []), ...(ticket.missing ? [at(units, ticket.scale)] : [])])
    for (const unitId of named) addRow(store, 'ticket_weight', { ticket_id: ticketId, unit_id: unitId })
    return ticketId
  })
  const readings = plan.readings.map((reading, r) => {
    const readingId = addRow(store, 'reading', {
      name: `R${r}`,
      taken_at: toStoredInstant(reading.at),
      ticket_id: reading.ticket === null || tickets.length === 0 ? null : at(tickets, reading.ticket),
      elevation_ft: 800,
      lift: reading.lift,
    })
    const pressures =
      circuits.length === 0 ? [] : reading.circuits.map(({ circuit, psi }) => [at(circuits, circuit), psi] as const)
    for (const [circuitId, psi] of new Map(pressures))
      addRow(store, 'reading_pressure', { reading_id: readingId, circuit_id: circuitId, psi })
    return readingId
  })
  const valid = new Set<string>()
  for (const { group, at: calibratedAt, voided, points } of tickets.length > 0 && readings.length > 0
    ? plan.calibrations
    : []) {
    const { id: groupId } = at(groups, group)
    const key = `${groupId} ${calibratedAt}`
    if (!voided && valid.has(key)) continue
    if (!voided) valid.add(key)
    const calibrationId = addRow(store, 'calibration', {
      group_id: groupId,
      calibrated_at: toStoredInstant(calibratedAt),
      ...(voided && { voided_at: toStoredInstant(calibratedAt), void_reason: 'mistyped' }),
    })
    const pairs = new Map(
      points.map(([t, r]) => [
        `${at(tickets, t)} ${at(readings, r)}`,
        { ticket_id: at(tickets, t), reading_id: at(readings, r) },
      ]),
    )
    for (const pair of pairs.values()) addRow(store, 'calibration_point', { calibration_id: calibrationId, ...pair })
  }
  const happened = new Map(
    plan.events.map(({ unit, group, at: happenedAt, kind }) => {
      const unitId = at(units, unit)
      const own = groups.filter((each) => each.unitId === unitId)
      const row = {
        unit_id: unitId,
        group_id: group === null ? null : at(own, group).id,
        happened_at: toStoredInstant(happenedAt),
        kind,
      }
      return [Object.values(row).join(), row]
    }),
  )
  for (const row of happened.values()) addRow(store, 'event', row)
  return units
}
