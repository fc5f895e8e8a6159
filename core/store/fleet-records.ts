import type { ChangeSubject } from '#core/words/change.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { type RecordPlace, addRecord, editRecord, findRecord } from '#core/store/edit-record.ts'
import { type NamedTable, findLookAlike } from '#core/store/look-alikes.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import { placedGroups, placedCircuits } from '#core/store/placed.ts'
import { listCircuits } from '#core/store/unit-sheet.ts'
import { readZone } from '#core/store/zone.ts'
import type { Change, StoredValue, StoredValues } from '#core/words/change.ts'
import { dayOf } from '#core/words/day.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import { tidyName } from '#core/words/names.ts'
import { codeOf, FieldError, TarelineError } from '#core/words/problem.ts'
import {
  type TypedSubject,
  type UsualGroup,
  fieldsOf,
  misfits,
  nameColumns,
  rowField,
} from '#core/words/record-fields.ts'
import type { EventKind } from '#core/words/vocabulary.ts'

/** Where in the fleet a record belongs: nowhere, or to a unit, a group of it or a circuit of that. */
export interface FleetPlace {
  readonly unitId: number | null
  readonly groupId: number | null
  readonly circuitId: number | null
  /** As people say it: `T-101 drive main`. */
  readonly name: string
}

export const noPlace: FleetPlace = { unitId: null, groupId: null, circuitId: null, name: '' }

const gone = (what: ChangeSubject) =>
  new TarelineError(
    'gone',
    phrase('The {what} is no longer there: another window took it away meanwhile. Nothing was saved.', {
      what: word(what),
    }),
  )

export async function unitPlace(db: Reader, unitId: number): Promise<FleetPlace> {
  const unit = await db.selectFrom('unit').select('number').where('id', '=', unitId).executeTakeFirst()
  if (!unit) throw gone('unit')
  return { ...noPlace, unitId, name: unit.number }
}

export async function groupPlace(db: Reader, groupId: number): Promise<FleetPlace> {
  const group = await placedGroups(db)
    .select(['u.id', 'u.number', 'g.name'])
    .where('g.id', '=', groupId)
    .executeTakeFirst()
  if (!group) throw gone('axle group')
  return { unitId: group.id, groupId, circuitId: null, name: `${group.number} ${group.name}` }
}

export async function circuitPlace(db: Reader, circuitId: number): Promise<FleetPlace> {
  const circuit = await placedCircuits(db)
    .select(['u.id as unit', 'u.number', 'g.id as group', 'g.name as group_name', 'c.name'])
    .where('c.id', '=', circuitId)
    .executeTakeFirst()
  if (!circuit) throw gone('circuit')
  return {
    unitId: circuit.unit,
    groupId: circuit.group,
    circuitId,
    name: `${circuit.number} ${circuit.group_name} ${circuit.name}`,
  }
}

/** The place to which a stored record belongs, itself included. */
async function placeOfRecord(db: Reader, subject: TypedSubject, id: number): Promise<FleetPlace> {
  if (subject === 'unit') return unitPlace(db, id)
  if (subject === 'axle group') return groupPlace(db, id)
  if (subject === 'circuit') return circuitPlace(db, id)
  const stored = await findRecord(db, subject, id)
  if (!stored) throw gone(subject)
  const { circuit_id: circuitId, group_id: groupId, unit_id: unitId } = stored
  if (typeof circuitId === 'number') return circuitPlace(db, circuitId)
  if (typeof groupId === 'number') return groupPlace(db, groupId)
  return typeof unitId === 'number' ? unitPlace(db, unitId) : noPlace
}

/** How the log calls a record, from where it belongs and what it is called there. */
async function keyOf(db: Reader, subject: TypedSubject, place: FleetPlace, values: StoredValues): Promise<string> {
  const own = String(values[nameColumns[subject]] ?? '')
  if (subject === 'event') return `${String(values['kind'] ?? '')}, ${place.name}`
  if (subject !== 'mount') return [subject === 'unit' ? '' : place.name, own].filter(Boolean).join(' ')
  const sensor = await db
    .selectFrom('sensor')
    .select('serial')
    .where('id', '=', Number(values['sensor_id']))
    .executeTakeFirst()
  return `${sensor?.serial ?? 'sensor'} on ${place.name}`
}

/** Columns that tie a new record to its place. */
function tieOf(subject: TypedSubject, { unitId, groupId, circuitId }: FleetPlace): StoredValues {
  if (subject === 'axle group') return { unit_id: unitId }
  if (subject === 'circuit') return { group_id: groupId }
  if (subject === 'mount') return { circuit_id: circuitId }
  return subject === 'event' ? { unit_id: unitId, group_id: groupId, circuit_id: circuitId } : {}
}

const namedTables = {
  yard: { table: 'yard', scope: [], name: 'name' },
  unit: { table: 'unit', scope: [], name: 'number' },
  'axle group': { table: 'axle_group', scope: ['unit_id'], name: 'name' },
  circuit: { table: 'circuit', scope: ['group_id'], name: 'name' },
  sensor: { table: 'sensor', scope: [], name: 'serial' },
  scale: { table: 'scale', scope: [], name: 'name' },
} as const satisfies Partial<Record<TypedSubject, NamedTable>>

/**
 * The values with the record's name tidied, where they bring one. Errors: FieldError where nothing is left of it, or it
 * looks the same as another one that is stored.
 */
async function withTidyName(
  db: Reader,
  subject: TypedSubject,
  values: StoredValues,
  scope: StoredValues,
): Promise<StoredValues> {
  const typed = values[nameColumns[subject]]
  if (subject === 'mount' || subject === 'event' || typeof typed !== 'string') return values
  const named = namedTables[subject]
  const name = tidyName(typed)
  const label = fieldsOf(subject)[named.name]?.label ?? named.name
  if (name === '')
    throw new FieldError('not-accepted', named.name, phrase('{label} holds no sign that can be seen.', { label }))
  const alike = await findLookAlike(db, named, scope, name)
  if (alike !== undefined)
    throw new FieldError(
      'look-alike',
      named.name,
      phrase(
        '{label}: “{name}” looks like “{alike}”, which is on record already; a name that can be told from it is accepted.',
        { label, name, alike },
      ),
    )
  return { ...values, [named.name]: name }
}

/** A name that is taken becomes a sentence at its field. */
async function sayTaken<T>(
  subject: TypedSubject,
  place: FleetPlace,
  values: StoredValues,
  work: () => Promise<T>,
): Promise<T> {
  try {
    return await work()
  } catch (error) {
    if (codeOf(error) !== 'SQLITE_CONSTRAINT_UNIQUE') throw error
    const field = nameColumns[subject]
    const label = fieldsOf(subject)[field]?.label ?? field
    const where = place.name === '' || subject === 'unit' ? '' : phrase(' on {place}', { place: place.name })
    throw new FieldError(
      'taken',
      field,
      phrase('{label}: there is a record {name}{where} already; another one is accepted.', {
        label,
        name: String(values[field] ?? ''),
        where,
      }),
      { cause: error },
    )
  }
}

/** Adds a record of a subject at a place, with columns that no form shows. */
export async function addFleetRecord(
  db: Writer,
  subject: TypedSubject,
  place: FleetPlace,
  typed: StoredValues,
  more: StoredValues = {},
): Promise<{ id: number; change: Change }> {
  const tie = tieOf(subject, place)
  const values = await withTidyName(db, subject, typed, tie)
  const all = { ...tie, ...more, ...values }
  const key = await keyOf(db, subject, place, all)
  return sayTaken(subject, place, values, async () => {
    const added = await addRecord(db, { subject, key, unitId: place.unitId } satisfies RecordPlace, all)
    // A new unit's own id is known only now.
    return subject === 'unit' ? { ...added, change: { ...added.change, unitId: added.id } } : added
  })
}

export interface FleetEdit {
  readonly subject: TypedSubject
  readonly id: number
  readonly was: StoredValues
  readonly values: StoredValues
  readonly reason?: string | null
  readonly action?: string
}

/** Changes a record; answers its changes, and where it belongs. Errors: those of `editRecord`; FieldError `taken`. */
export async function editFleetRecord(
  db: Writer,
  { subject, id, was, values: typed, ...told }: FleetEdit,
): Promise<{ changes: Change[]; place: FleetPlace }> {
  const place = await placeOfRecord(db, subject, id)
  const stored = await findRecord(db, subject, id)
  // A name that stays as it was is held against nothing: a file of before may have others that look the same.
  const isRenamed = typed[nameColumns[subject]] !== was[nameColumns[subject]]
  const values = isRenamed ? await withTidyName(db, subject, typed, stored ?? {}) : typed
  const [misfit] = misfits(subject, { ...stored, ...values })
  if (misfit) throw new FieldError('not-accepted', misfit.field, misfit.message)
  const key =
    subject === 'event' || subject === 'mount'
      ? await keyOf(db, subject, place, stored ?? {})
      : place.name || String(stored?.[nameColumns[subject]] ?? '')
  const changes = await sayTaken(subject, place, values, () =>
    editRecord(db, { subject, id, key, unitId: place.unitId, was, now: values, ...told }),
  )
  return { changes, place }
}

/** Records an event at a place, unless the very same one stands there already. */
export async function addEvent(
  db: Writer,
  place: FleetPlace,
  kind: EventKind,
  at: string,
  localZone: string | null,
  note: StoredValue,
): Promise<Change[]> {
  const known = await db
    .selectFrom('event')
    .select('id')
    .where('unit_id', '=', place.unitId)
    .where('group_id', 'is', place.groupId)
    .where('circuit_id', 'is', place.circuitId)
    .where('happened_at', '=', at)
    .where('kind', '=', kind)
    .executeTakeFirst()
  if (known) return []
  return [(await addFleetRecord(db, 'event', place, { kind, happened_at: at, note }, { local_zone: localZone })).change]
}

/** Whether a line of the group, or of the circuit's, could be broken: one that is valid. */
async function hasLine(db: Reader, { groupId }: FleetPlace): Promise<boolean> {
  if (groupId === null) return false
  return (
    (await db
      .selectFrom('calibration')
      .select('id')
      .where('group_id', '=', groupId)
      .where('voided_at', 'is', null)
      .executeTakeFirst()) !== undefined
  )
}

export interface Mounting {
  readonly serial: string
  readonly circuitId: number
  /** The installation record, `mounted_at` among it (stored instant). */
  readonly values: StoredValues
  readonly localZone: string | null
  /** Add the sensor first, as a gauge or absolute one, where the fleet has none of that serial. */
  readonly newReference: 'gauge' | 'absolute' | null
  /** Further columns of the sensor: of one that the fleet has, those that are not known yet. */
  readonly sensor?: StoredValues
}

/** The serial as it is stored where the fleet has that very one, which an older file may hold untidied; else tidied. */
const storedSerial = async (db: Reader, typed: string): Promise<string> =>
  (await db.selectFrom('sensor').select('serial').where('serial', '=', typed).executeTakeFirst())?.serial ??
  tidyName(typed)

/** Takes down of a sensor what was not known of it. */
async function fillIn(db: Writer, id: number, known: StoredValues): Promise<Change[]> {
  const stored = await findRecord(db, 'sensor', id)
  const unknown = Object.keys(known).filter((column) => known[column] !== null && stored?.[column] === null)
  const was = Object.fromEntries(unknown.map((column) => [column, null]))
  const values = Object.fromEntries(unknown.map((column) => [column, known[column] ?? null]))
  return (await editFleetRecord(db, { subject: 'sensor', id, was, values })).changes
}

/**
 * Puts a sensor on a circuit: takes it off where it sat, and off this circuit whichever sat there. On every circuit
 * that had a line or a sensor before, the swap is recorded as the event that it is. Answers the mount's id and the
 * changes.
 *
 * Errors: FieldError on `serial` or `mounted_at`; TarelineError `gone`.
 */
export async function mountSensor(
  db: Writer,
  { serial: typedSerial, circuitId, values, localZone, newReference, sensor: known = {} }: Mounting,
): Promise<{ id: number; changes: Change[] }> {
  const place = await circuitPlace(db, circuitId)
  const at = String(values['mounted_at'])
  const changes: Change[] = []
  const serial = await storedSerial(db, typedSerial)
  let sensor = await db.selectFrom('sensor').select('id').where('serial', '=', serial).executeTakeFirst()
  if (!sensor) {
    if (newReference === null)
      throw new FieldError(
        'no-such-sensor',
        'serial',
        phrase(
          'There is no sensor {serial} in this fleet. Say whether it shows gauge or absolute pressure, and it is added.',
          { serial },
        ),
      )
    const added = await addFleetRecord(db, 'sensor', noPlace, { ...known, serial, reference: newReference })
    changes.push(added.change)
    sensor = { id: added.id }
  } else changes.push(...(await fillIn(db, sensor.id, known)))
  const sensorId = sensor.id
  const open = await db
    .selectFrom('mount as m')
    .innerJoin('sensor as s', 's.id', 'm.sensor_id')
    .select(['m.id', 'm.circuit_id', 'm.sensor_id', 'm.mounted_at', 's.serial'])
    .where('m.removed_at', 'is', null)
    .where(({ or, eb }) => or([eb('m.sensor_id', '=', sensorId), eb('m.circuit_id', '=', circuitId)]))
    .execute()
  if (open.some((mount) => mount.sensor_id === sensorId && mount.circuit_id === circuitId)) {
    throw new FieldError(
      'already-there',
      'serial',
      phrase('Sensor {serial} sits on {name} already. Correct its installation record there, or name another sensor.', {
        serial,
        name: place.name,
      }),
    )
  }
  const late = open.find((mount) => mount.mounted_at >= at)
  if (late)
    throw new FieldError(
      'before-last-mount',
      'mounted_at',
      phrase('Sensor {serial} was mounted later than that ({day}) and still sits there; a time after it is accepted.', {
        serial: late.serial,
        day: dayOf(fromStoredInstant(late.mounted_at), await readZone(db)),
      }),
    )
  const left: FleetPlace[] = []
  for (const mount of open) {
    const closed = await editFleetRecord(db, {
      subject: 'mount',
      id: mount.id,
      was: { removed_at: null },
      values: { removed_at: at },
      action: 'removed',
    })
    changes.push(...closed.changes)
    if (mount.circuit_id !== circuitId) left.push(closed.place)
  }
  const hadSensor =
    open.some((mount) => mount.circuit_id === circuitId) ||
    (await db.selectFrom('mount').select('id').where('circuit_id', '=', circuitId).executeTakeFirst()) !== undefined
  const { id, change } = await addFleetRecord(db, 'mount', place, values, {
    sensor_id: sensorId,
    local_zone: localZone,
  })
  changes.push(change)
  if (hadSensor || (await hasLine(db, place)))
    changes.push(...(await addEvent(db, place, 'sensor swapped', at, localZone, `Sensor ${serial} mounted.`)))
  for (const old of left)
    changes.push(
      ...(await addEvent(db, old, 'sensor swapped', at, localZone, `Sensor ${serial} moved to ${place.name}.`)),
    )
  return { id, changes }
}

/** Adds axle groups with their circuits to a unit; answers the circuits' ids, in their order, and the changes. */
export async function addGroups(
  db: Writer,
  unitAt: FleetPlace,
  groups: readonly UsualGroup[],
): Promise<{ circuitIds: number[]; changes: Change[] }> {
  const changes: Change[] = []
  const circuitIds: number[] = []
  for (const { group, circuits } of groups) {
    const added = await addFleetRecord(db, 'axle group', unitAt, group)
    changes.push(added.change)
    const groupAt: FleetPlace = { ...unitAt, groupId: added.id, name: `${unitAt.name} ${String(group['name'])}` }
    for (const circuit of circuits) {
      const { id, change } = await addFleetRecord(db, 'circuit', groupAt, circuit)
      circuitIds.push(id)
      changes.push(change)
    }
  }
  return { circuitIds, changes }
}

/** What of many mountings is wrong is said of its row. Errors: those of `mountSensor`, their fields as `rowField`. */
export async function mountMany(db: Writer, mountings: readonly Mounting[]): Promise<Change[]> {
  const changes: Change[] = []
  for (const [row, mounting] of mountings.entries()) {
    const { serial } = mounting
    const first = mountings.findIndex((each) => each.serial === serial)
    if (first < row)
      throw new FieldError(
        'twice',
        rowField(row, 'serial'),
        phrase('{serial} is typed twice; a sensor sits on one circuit.', { serial }),
      )
    try {
      changes.push(...(await mountSensor(db, mounting)).changes)
    } catch (error) {
      if (!(error instanceof FieldError)) throw error
      throw new FieldError(error.code, rowField(row, error.field), error.message, { cause: error })
    }
  }
  return changes
}

/**
 * Adds units of other numbers after the pattern of one: its groups and circuits, without its VIN, plate, sensors and
 * evidence.
 */
export async function copyUnit(db: Writer, unitId: number, numbers: readonly string[]): Promise<{ changes: Change[] }> {
  const pattern = await findRecord(db, 'unit', unitId)
  if (!pattern) throw gone('unit')
  const groups = await db.selectFrom('axle_group').selectAll().where('unit_id', '=', unitId).orderBy('id').execute()
  const circuits = await listCircuits(db, unitId)
  const copies = groups.map(
    ({ id: groupId, unit_id: _, ...group }): UsualGroup => ({
      group,
      circuits: circuits
        .filter(({ group_id }) => group_id === groupId)
        .map(({ id: __, group_id: ___, ...circuit }) => circuit),
    }),
  )
  const { id: _, ...shared } = pattern
  const changes: Change[] = []
  for (const number of numbers) {
    const unit = await addFleetRecord(db, 'unit', noPlace, {
      ...shared,
      number,
      vin: null,
      plate: null,
      service_state: 'in service',
    })
    const { changes: parts } = await addGroups(db, { ...noPlace, unitId: unit.id, name: number }, copies)
    changes.push(unit.change, ...parts)
  }
  return { changes }
}
