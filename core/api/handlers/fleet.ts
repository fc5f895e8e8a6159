import type { z } from 'zod'
import { onFleet, onChange } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import type {
  FleetBasics,
  UnitRecord,
  addUnitInput,
  mountInput,
  mountManyInput,
  saveRecordInput,
} from '#core/contracts/fleet.ts'
import { makeBaySheet } from '#core/exchange/documents/bay-sheet.ts'
import { recordChanges } from '#core/store/change-log.ts'
import {
  countSensors,
  countUnits,
  listBareCircuits,
  listGroupRecords,
  listMountRecords,
  listRetired,
  listSensors,
  listUnseenReadings,
  listYards,
  readFirstSteps,
  typedValues,
  unitNumbers,
} from '#core/store/fleet-lists.ts'
import {
  type FleetPlace,
  addEvent,
  addFleetRecord,
  addGroups,
  circuitPlace,
  copyUnit,
  editFleetRecord,
  groupPlace,
  mountMany,
  mountSensor,
  noPlace,
  unitPlace,
} from '#core/store/fleet-records.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { listScales } from '#core/store/roster.ts'
import { listCircuits, unitByNumber } from '#core/store/unit-sheet.ts'
import { readZone } from '#core/store/zone.ts'
import type { Hand, StoredValues } from '#core/words/change.ts'
import { readMeasures } from '#core/store/house-rules.ts'
import { dayOf } from '#core/words/day.ts'
import { fromStoredInstant, liesAhead, toStoredInstant } from '#core/words/instant.ts'
import { FieldError, TarelineError } from '#core/words/problem.ts'
import {
  type FormAsked,
  type TypedSubject,
  fieldsOf,
  lineBreakingWork,
  recordProblems,
  rowField,
} from '#core/words/record-fields.ts'
import { countOn, inFileName } from '#core/words/text.ts'
import type { EventKind } from '#core/words/vocabulary.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

type SaveInput = z.infer<typeof saveRecordInput>

/** Refuses values that the subject's fields do not accept; the window has checked the same before. */
function checkValues(subject: TypedSubject, values: StoredValues, asked: FormAsked): void {
  const unknown = Object.keys(values).find((column) => !Object.hasOwn(fieldsOf(subject), column))
  if (unknown !== undefined)
    throw new FieldError(
      'no-such-field',
      unknown,
      phrase('A {subject} has no field {unknown}. Nothing was saved.', { subject: word(subject), unknown }),
    )
  const [problem] = recordProblems(subject, values, asked)
  if (problem) throw new FieldError('not-accepted', problem.field, problem.message)
}

function placeFor(db: Reader, { parent: { unitId, groupId, circuitId } = {} }: SaveInput): Promise<FleetPlace> {
  if (circuitId !== undefined) return circuitPlace(db, circuitId)
  if (groupId !== undefined) return groupPlace(db, groupId)
  return unitId === undefined ? Promise.resolve(noPlace) : unitPlace(db, unitId)
}

/** What a new record of a subject hangs on. */
const tiedTo: Partial<Record<TypedSubject, keyof FleetPlace>> = {
  'axle group': 'unitId',
  circuit: 'groupId',
  event: 'unitId',
}

async function saveRecord(
  store: Store,
  input: SaveInput,
  now: number,
): Promise<{ id: number; event: EventKind | null }> {
  const { subject, id, was, values, reason, localZone, workedAt, by } = input
  const hand: Hand = { by, at: toStoredInstant(now) }
  if (subject === 'mount' && id === null)
    throw new TarelineError(
      'use-mount',
      phrase('A sensor is put on a circuit with its installation record, not by itself.'),
    )
  const measures = await readMeasures(store.db)
  checkValues(subject, id === null ? values : { ...was, ...values }, { now, measures, whole: id === null })
  if (workedAt !== null && liesAhead(fromStoredInstant(workedAt), now))
    throw new FieldError('in-the-future', 'workedAt', phrase('The work lies ahead; a time up to now is accepted.'))
  return await store.db.transaction().execute(async (db) => {
    if (id === null) {
      const place = await placeFor(db, input)
      const needs = tiedTo[subject]
      if (needs !== undefined && place[needs] === null)
        throw new TarelineError(
          'no-place',
          phrase('A new {subject} needs the unit or group that it belongs to. Nothing was saved.', {
            subject: word(subject),
          }),
        )
      const added = await addFleetRecord(
        db,
        subject,
        place,
        values,
        subject === 'event' ? { local_zone: localZone } : {},
      )
      await recordChanges(db, hand, [added.change])
      return { id: added.id, event: null }
    }
    const { changes, place } = await editFleetRecord(db, { subject, id, was, values, reason })
    const kind = workedAt === null || changes.length === 0 ? null : lineBreakingWork(subject, was, values)
    const events =
      kind !== null && workedAt !== null ? await addEvent(db, place, kind, workedAt, localZone, reason) : []
    await recordChanges(db, hand, [...changes, ...events])
    return { id, event: events.length > 0 ? kind : null }
  })
}

async function mount(
  store: Store,
  { by, sensor = {}, ...mounting }: z.infer<typeof mountInput>,
  now: number,
): Promise<number> {
  const asked: FormAsked = { now, measures: await readMeasures(store.db), whole: true }
  checkValues('mount', mounting.values, asked)
  checkSensor(sensor, asked)
  return await store.db.transaction().execute(async (db) => {
    const { changes, id } = await mountSensor(db, { ...mounting, sensor })
    await recordChanges(db, { by, at: toStoredInstant(now) }, changes)
    return id
  })
}

/** Refuses what a sensor does not accept beside its serial and what it shows, which come by themselves. */
function checkSensor(sensor: StoredValues, asked: FormAsked): void {
  checkValues('sensor', sensor, { ...asked, whole: false })
}

async function mountSensors(
  store: Store,
  { mounts, localZone, newReference, sensor, by }: z.infer<typeof mountManyInput>,
  now: number,
): Promise<number> {
  const measures = await readMeasures(store.db)
  checkSensor(sensor, { now, measures, whole: false })
  for (const [row, { mountedAt }] of mounts.entries()) {
    const [problem] = recordProblems('mount', { mounted_at: mountedAt }, { now, measures, whole: true })
    if (problem) throw new FieldError('not-accepted', rowField(row, problem.field), problem.message)
  }
  await store.db.transaction().execute(async (db) => {
    const changes = await mountMany(
      db,
      mounts.map(({ circuitId, serial, mountedAt }) => ({
        serial,
        circuitId,
        values: { mounted_at: mountedAt },
        localZone,
        newReference,
        sensor,
      })),
    )
    await recordChanges(db, { by, at: toStoredInstant(now) }, changes)
  })
  return mounts.length
}

/** Adds a unit with its groups, circuits and sensors as one change. */
async function addUnit(
  store: Store,
  { values, groups, mountedAt, newReference, sensor, localZone, by }: z.infer<typeof addUnitInput>,
  now: number,
): Promise<number> {
  const asked: FormAsked = { now, measures: await readMeasures(store.db), whole: true }
  checkValues('unit', values, asked)
  checkSensor(sensor, asked)
  checkValues('mount', { mounted_at: mountedAt }, asked)
  for (const group of groups) {
    checkValues('axle group', group.values, asked)
    for (const circuit of group.circuits) checkValues('circuit', circuit.values, asked)
  }
  const serials = groups.flatMap(({ circuits }) => circuits.map(({ serial }) => serial))
  return await store.db.transaction().execute(async (db) => {
    const unit = await addFleetRecord(db, 'unit', noPlace, values)
    const parts = await addGroups(
      db,
      { ...noPlace, unitId: unit.id, name: String(values['number']) },
      groups.map((group) => ({ group: group.values, circuits: group.circuits.map((circuit) => circuit.values) })),
    )
    const mounted = await mountMany(
      db,
      parts.circuitIds.flatMap((circuitId, place) => {
        const serial = serials[place] ?? null
        return serial === null
          ? []
          : [{ serial, circuitId, values: { mounted_at: mountedAt }, localZone, newReference, sensor }]
      }),
    )
    await recordChanges(db, { by, at: toStoredInstant(now) }, [unit.change, ...parts.changes, ...mounted])
    return unit.id
  })
}

async function unitRecordOf({ db }: Store, number: string): Promise<UnitRecord> {
  const unit = await unitByNumber(db, number)
  const circuits = await listCircuits(db, unit.id)
  const mounts = await listMountRecords(db, unit.id)
  const unseen = await listUnseenReadings(db, unit.id)
  return {
    unit: { id: unit.id, values: typedValues('unit', unit), retired: unit.service_state === 'retired' },
    groups: (await listGroupRecords(db, unit.id)).map((group) => ({
      id: group.id,
      values: typedValues('axle group', group),
      lines: group.lines ?? 0,
      circuits: circuits
        .filter(({ group_id }) => group_id === group.id)
        .map((circuit) => ({
          id: circuit.id,
          values: typedValues('circuit', circuit),
          firstReadAt: unseen.get(circuit.id) ?? null,
          mounts: mounts
            .filter(({ circuit_id }) => circuit_id === circuit.id)
            .map((row) => ({
              id: row.id,
              values: typedValues('mount', row),
              serial: row.serial,
              reference: row.reference,
            })),
        })),
    })),
    yards: (await listYards(db)).map(({ id, name }) => ({ id, name })),
  }
}

async function basics({ db }: Store): Promise<FleetBasics> {
  return {
    yards: (await listYards(db)).map((yard) => ({
      id: yard.id,
      values: typedValues('yard', yard),
      units: yard.units ?? 0,
    })),
    scales: (await listScales(db)).map((scale) => ({
      id: scale.id,
      values: typedValues('scale', scale),
      tickets: scale.tickets ?? 0,
    })),
    sensors: await countSensors(db),
    units: await countUnits(db),
    retired: await listRetired(db, mostRetired),
  }
}

/** Retired units that the Fleet names. */
const mostRetired = 500

const sensorsAtOnce = 100

export const fleetHandlers = {
  basics: procedures.fleet.basics.handler(onFleet(basics)),
  unit: procedures.fleet.unit.handler(onFleet((store, input) => unitRecordOf(store, input.unit))),
  sensors: procedures.fleet.sensors.handler(
    onFleet(async ({ db }, { text = '', after, limit = sensorsAtOnce }) => {
      const rows = await listSensors(db, { text, after, limit: limit + 1 })
      const page = rows.slice(0, limit)
      return {
        next: rows.length > limit ? (page.at(-1)?.serial ?? null) : null,
        rows: page.map((row) => ({
          id: row.id,
          values: typedValues('sensor', row),
          seat:
            row.unit === null ||
            row.group === null ||
            row.circuit === null ||
            row.circuit_id === null ||
            row.mounted_at === null
              ? null
              : {
                  unit: row.unit,
                  group: row.group,
                  circuit: row.circuit,
                  circuitId: row.circuit_id,
                  since: row.mounted_at,
                },
        })),
      }
    }),
  ),
  save: procedures.fleet.save.handler(
    onChange(async (store, input, { now }) => {
      const saved = await saveRecord(store, input, now)
      return saved
    }),
  ),
  mount: procedures.fleet.mount.handler(
    onChange(async (store, input, { now }) => {
      const id = await mount(store, input, now)
      return { id }
    }),
  ),
  mountMany: procedures.fleet.mountMany.handler(
    onChange(async (store, input, { now }) => {
      const mounted = await mountSensors(store, input, now)
      return { mounted }
    }),
  ),
  addUnit: procedures.fleet.addUnit.handler(
    onChange(async (store, input, { now }) => {
      const id = await addUnit(store, input, now)
      return { id }
    }),
  ),
  bareCircuits: procedures.fleet.bareCircuits.handler(
    onFleet(async ({ db }, { units }) =>
      (await listBareCircuits(db, units)).map(({ id, unit, group, circuit, first_read }) => ({
        circuitId: id,
        unit,
        group,
        circuit,
        firstReadAt: first_read,
      })),
    ),
  ),
  firstSteps: procedures.fleet.firstSteps.handler(
    onFleet(async ({ db }) => {
      const found = await readFirstSteps(db)
      const is = (value: unknown) => Boolean(value)
      return {
        yard: is(found.yard),
        scale: is(found.scale),
        lead: is(found.lead),
        trailer: is(found.trailer),
        circuit: is(found.circuit),
        sensor: is(found.sensor),
        ticket: is(found.ticket),
        line: is(found.line),
        weighs: found.lead_weighs ?? found.trailer_weighs ?? null,
      }
    }),
  ),
  nextNumbers: procedures.fleet.nextNumbers.handler(
    onFleet(async ({ db }, input) => countOn(input.unit, input.count, await unitNumbers(db))),
  ),
  copyUnit: procedures.fleet.copyUnit.handler(
    onChange(async (store, { unit, numbers, by }, { now }) => {
      await store.db.transaction().execute(async (db) => {
        const pattern = await unitByNumber(db, unit)
        const { changes } = await copyUnit(db, pattern.id, numbers)
        await recordChanges(db, { by, at: toStoredInstant(now) }, changes)
      })
      return { added: [...numbers] }
    }),
  ),
  retire: procedures.fleet.retire.handler(
    onChange(async (store, { unit, retired, reason, by }, { now }) => {
      await store.db.transaction().execute(async (db) => {
        const { id, service_state } = await unitByNumber(db, unit)
        const { changes } = await editFleetRecord(db, {
          subject: 'unit',
          id,
          was: { service_state },
          values: { service_state: retired ? 'retired' : 'in service' },
          reason,
          action: retired ? 'retired' : 'brought back',
        })
        await recordChanges(db, { by, at: toStoredInstant(now) }, changes)
      })
      return { retired }
    }),
  ),
  baySheet: procedures.fleet.baySheet.handler(
    onFleet(async (store, input, { now }) => {
      const name = `bay-sheet-${inFileName(input.unit)}-${dayOf(now, await readZone(store.db))}.pdf`
      return new File([await makeBaySheet(store, input.unit, now)], name, { type: 'application/pdf' })
    }),
  ),
}
