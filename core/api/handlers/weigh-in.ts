import { onFleet, onChange } from '#core/api/on-fleet.ts'
import { sayOfRules } from '#core/words/say.ts'
import { sayLineProblem } from '#core/words/sentences/line-problems.ts'
import { refusal } from '#core/api/answer-errors.ts'
import { freshJudgements } from '#core/api/freshen.ts'
import { procedures } from '#core/api/procedures.ts'
import { bySendersClock, findUnits, pressuresByCircuit, sentSave } from '#core/api/typed.ts'
import type { z } from 'zod'
import type { PreparedWeighIn, SaveWeighInInput, calibrateInput } from '#core/contracts/weigh-in.ts'
import { calibrateGroup } from '#core/evidence/calibrate.ts'
import { inOneOrder } from '#core/evidence/one-platform.ts'
import { isSensed } from '#core/evidence/history.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { recordedCalibration } from '#core/findings/weigh-in.ts'
import { openUnits } from '#core/store/assessment.ts'
import { readFiguresText } from '#core/store/books.ts'
import { recordChanges } from '#core/store/change-log.ts'
import { listWeighedReadings } from '#core/store/evidence-lists.ts'
import { headYardFt, inCouplingOrder, lookUpPlaces } from '#core/store/fleet-places.ts'
import { readScales } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import {
  type CalibrationRecord,
  type TicketRecord,
  type TypedReading,
  type WeighInRecord,
  addCalibration,
  calibratedThen,
  findCalibration,
  listNamedCircuits,
  saveWeighIn,
  alikeTicketNumber,
  takenTicketNumbers,
  voidCalibration,
} from '#core/store/save-weigh-in.ts'
import { rememberSave, saveOnce } from '#core/store/sent-saves.ts'
import { listUnitGroups, unitByNumber } from '#core/store/unit-sheet.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { clockSlackMs, liesAhead, toStoredInstant, typedInstantMs } from '#core/words/instant.ts'
import { nameKey } from '#core/words/names.ts'
import { TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

type CalibrateInput = z.infer<typeof calibrateInput>

const refuseField = (code: string, field: string, value: string, accepted: string, message: string) =>
  refusal({ code, field, value, accepted, message: phrase('{message} Nothing was saved.', { message }) })

/** The first that stands before itself. */
const firstTwice = (names: readonly string[]): string | undefined => {
  const keys = names.map(nameKey)
  return names.find((_, i) => keys.indexOf(keys[i] ?? '') !== i)
}

async function scaleOf(
  store: Store,
  scale: string | null,
  numbers: readonly string[],
): Promise<WeighInRecord['scale']> {
  if (scale === null && numbers.length > 0)
    throw refuseField('no-scale', 'scale', '', phrase('a scale of this fleet'), phrase('Tickets need their scale.'))
  if (scale === null) return null
  const id = [...readScales(store).values()].find(({ name }) => name === scale)?.scaleId
  if (id === undefined)
    throw refuseField(
      'no-such-scale',
      'scale',
      scale,
      phrase('a scale of this fleet'),
      phrase('There is no scale {scale} in this fleet.', { scale }),
    )
  const taken = firstTwice(numbers) ?? (await takenTicketNumbers(store.db, id, numbers))[0]
  if (taken !== undefined)
    throw refuseField(
      'exists',
      'ticket',
      taken,
      phrase('a number that this scale has no ticket of'),
      phrase('{scale} already has a ticket {taken}.', { scale, taken }),
    )
  const alike = await alikeTicketNumber(store.db, id, numbers)
  if (alike)
    throw refuseField(
      'look-alike',
      'ticket',
      alike.number,
      phrase('a number that can be told from those of this scale'),
      phrase('Ticket {number} looks like {stored}, which {scale} has a ticket of already.', {
        number: alike.number,
        stored: alike.stored,
        scale,
      }),
    )
  return { id, name: scale }
}

/** Resolves the names that were typed; refused where one is not there, is given twice, or lies ahead. */
async function recordOf(
  store: Store,
  { units, scale: scaleName, localZone, tickets, readings, calibrate }: SaveWeighInInput,
  own: (time: string) => string,
  now: number,
): Promise<WeighInRecord> {
  const { db } = store
  const unitIds = inCouplingOrder(await findUnits(store, units), lookUpPlaces(store))
  const scale = await scaleOf(
    store,
    scaleName,
    tickets.map(({ ticket }) => ticket),
  )
  const groups = await listUnitGroups(db, unitIds)
  const groupOf = (unit: string, group: string) => {
    const found = groups.find((each) => each.unit === unit && each.group === group)
    if (!found)
      throw refuseField(
        'no-such-group',
        'group',
        `${unit} ${group}`,
        phrase('a group of one of the units'),
        phrase('There is no group {group} on {unit} in this combination.', { group, unit }),
      )
    return found
  }
  const circuits = await listNamedCircuits(db, unitIds)
  const instantOf = (field: string, what: string, text: string): string => {
    const at = typedInstantMs(own(text))
    if (liesAhead(at, now))
      throw refuseField(
        'in-the-future',
        field,
        text,
        phrase('a time up to now'),
        phrase('{what}: {text} lies ahead.', { what, text }),
      )
    return toStoredInstant(at)
  }
  type Noted = NonNullable<SaveWeighInInput['tickets'][number]['reading']>
  const readingOf = (
    { elevationFt, temperatureF, lift, pressures }: Noted,
    { driver, lane }: Pick<TypedReading, 'driver' | 'lane'>,
    takenAt: string,
  ): TypedReading => ({
    takenAt,
    localZone,
    elevationFt,
    temperatureF,
    lift,
    note: null,
    driver,
    lane,
    pressures: pressuresByCircuit(circuits, pressures),
  })
  const records = tickets.map(
    ({ ticket, weighedAt, grossLb, weights, together, driver, lane, reading }): TicketRecord => {
      const at = instantOf('weighedAt', phrase('Ticket {ticket}', { ticket }), weighedAt)
      const twice = firstTwice([
        ...weights.map(({ unit, group }) => `${unit} ${group}`),
        ...together.flatMap(({ unit, groups: both }) => both.map((group) => `${unit} ${group}`)),
      ])
      if (twice !== undefined)
        throw refuseField(
          'twice',
          'weights',
          twice,
          phrase('one weight a group, its own or one together with another'),
          phrase('Ticket {ticket}: the weight of {twice} is given twice.', { ticket, twice }),
        )
      return {
        number: ticket,
        weighedAt: at,
        localZone,
        grossLb,
        weights: weights.map(({ unit, group, weightLb }) => ({
          unitId: groupOf(unit, group).unit_id,
          groupId: groupOf(unit, group).id,
          weightLb,
        })),
        together: together.map(({ unit, groups: [one, other], weightLb }) => ({
          unitId: groupOf(unit, one).unit_id,
          groupIds: inOneOrder(groupOf(unit, one).id, groupOf(unit, other).id),
          weightLb,
        })),
        driver,
        lane,
        reading: reading && readingOf(reading, { driver, lane }, at),
      }
    },
  )
  const ofGroup = new Map(circuits.map(({ id, unit, group }) => [id, `${unit} ${group}`]))
  const calibratedTwice = firstTwice(calibrate.map(({ unit, group }) => `${unit} ${group}`))
  if (calibratedTwice !== undefined)
    throw refuseField(
      'twice',
      'calibrate',
      calibratedTwice,
      phrase('each group once'),
      phrase('{calibratedTwice} is to be calibrated twice.', { calibratedTwice }),
    )
  const calibrations = calibrate.map(({ unit, group }): CalibrationRecord => {
    const { id, unit_id } = groupOf(unit, group)
    const key = `${unit} ${group}`
    const points = records.flatMap(({ weights, reading }, i) =>
      weights.some(({ groupId }) => groupId === id) &&
      reading?.pressures.some(({ circuitId }) => ofGroup.get(circuitId) === key)
        ? [i]
        : [],
    )
    const calibratedAt = points
      .map((place) => (records[place] as TicketRecord).weighedAt)
      .sort()
      .at(-1)
    if (points.length < 2 || calibratedAt === undefined)
      throw refuseField(
        'too-few-points',
        'calibrate',
        key,
        phrase('two tickets or more with its weight and its pressure'),
        phrase(
          '{key} has {points, plural, one {one ticket} other {no ticket}} with both its weight and its pressure: a line needs two loads or more.',
          { key, points: points.length },
        ),
      )
    return { unitId: unit_id, groupId: id, name: key, calibratedAt, points }
  })
  const [standing] = await calibratedThen(db, calibrations)
  if (standing !== undefined)
    throw refuseField(
      'exists',
      'calibrate',
      standing,
      phrase('a time without a valid calibration'),
      phrase('{standing} already has a valid calibration of that very time; void it first.', { standing }),
    )
  return {
    scale,
    unitIds,
    tickets: records,
    readings: readings.map((reading) =>
      readingOf(reading, reading, instantOf('takenAt', phrase('Reading'), reading.takenAt)),
    ),
    calibrations,
  }
}

/** A calibration that makes no line is refused before it is kept, by the very rules that would use it. */
function refuseWithoutLine(
  store: Store,
  { unitIds, calibrations }: WeighInRecord,
  rules: HouseRules,
  now: number,
): void {
  if (calibrations.length === 0) return
  const source = openUnits(store, unitIds, now + clockSlackMs)
  for (const { groupId, name, calibratedAt } of calibrations) {
    const history = source.historyOf(groupId)
    const calibration = history?.calibrations.find((each) => toStoredInstant(each.calibratedAt) === calibratedAt)
    const line = history && calibration && calibrateGroup(history, calibration, (id) => source.scales.get(id), rules)
    if (line && !line.ok)
      throw refuseField(
        line.problem.code,
        'calibrate',
        name,
        line.problem.accepted,
        `${name}: ${sayLineProblem(line.problem, sayOfRules(rules))}`,
      )
  }
}

async function prepare(store: Store, unitIds: readonly number[], now: number): Promise<PreparedWeighIn> {
  const rules = await readHouseRules(store.db)
  const source = openUnits(store, unitIds, judgedAt(now, rules.zone))
  const groups = await listUnitGroups(store.db, unitIds)
  return {
    histories: source.groups.flatMap(({ groupId }) => source.historyOf(groupId) ?? []),
    scales: [...source.scales.values()],
    rules,
    figures: (await readFiguresText(store.db)) ?? null,
    headYardFt: headYardFt(unitIds, lookUpPlaces(store)),
    units: unitIds.map((unitId) => {
      const own = groups.filter(({ unit_id }) => unit_id === unitId)
      return {
        unit: own[0]?.unit ?? '',
        kind: own[0]?.kind ?? ('trailer' as const),
        groups: own.map(({ id, group, role }) => ({
          groupId: id,
          group,
          role,
          sensed: source.groups.some((each) => each.groupId === id && isSensed(each)),
        })),
      }
    }),
  }
}

/** Makes a calibration of what is on record; refused by the very rules that would use it. */
async function calibrateRecorded(store: Store, { unit, group, readings, by }: CalibrateInput, now: number) {
  const { id: unitId } = await unitByNumber(store.db, unit)
  const source = openUnits(store, [unitId], now + clockSlackMs)
  const found = source.groups.find((each) => each.group === group && isSensed(each))
  const history = found && source.historyOf(found.groupId)
  const name = `${unit} ${group}`
  if (!history)
    throw refuseField(
      'no-such-group',
      'group',
      name,
      phrase('a group with a circuit'),
      phrase('There is no group {group} with a circuit on {unit}.', { group, unit }),
    )
  const made = recordedCalibration(history, readings)
  if (!made.ok)
    throw refusal({
      ...made.problem,
      message: phrase('{message} Nothing was saved.', { message: made.problem.message }),
    })
  const calibration = made.value
  const rules = await readHouseRules(store.db)
  const line = calibrateGroup(history, calibration, (id) => source.scales.get(id), rules)
  if (!line.ok) {
    const { code, accepted } = line.problem
    throw refuseField(code, 'readings', name, accepted, `${name}: ${sayLineProblem(line.problem, sayOfRules(rules))}`)
  }
  const named = new Map((await listWeighedReadings(store.db, unitId)).map((each) => [each.readingId, each]))
  const calibratedAt = toStoredInstant(calibration.calibratedAt)
  await store.db.transaction().execute(async (db) => {
    const points = calibration.points.flatMap(({ readingId }) => named.get(readingId) ?? [])
    const change = await addCalibration(db, { unitId, groupId: history.groupId, name, calibratedAt, points }, by)
    await recordChanges(db, { by, at: toStoredInstant(now) }, [change])
  })
  return { calibratedAt }
}

async function saveVisit(store: Store, input: SaveWeighInInput, now: number) {
  const { clockOffMs, own } = bySendersClock(input.sent, now)
  const record = await recordOf(store, input, own, now)
  const rules = await readHouseRules(store.db)
  return await store.db.transaction().execute(async (db) => {
    const saved = await saveWeighIn(db, record, { by: input.by, at: toStoredInstant(now) })
    // Within the transaction, so that what is refused leaves nothing.
    refuseWithoutLine(store, record, rules, now)
    const answer = { ...saved, calibrations: record.calibrations.length, clockOffMs }
    await rememberSave(db, sentSave(input), answer, toStoredInstant(now))
    return answer
  })
}

export const weighInHandlers = {
  prepare: procedures.weighIn.prepare.handler(
    onFleet(async (store, input, { now, report }) => {
      await freshJudgements(store, now, report)
      return prepare(store, inCouplingOrder(await findUnits(store, input.units), lookUpPlaces(store)), now)
    }),
  ),
  recorded: procedures.weighIn.recorded.handler(
    onFleet(async (store, input, { now, report }) => {
      await freshJudgements(store, now, report)
      const { id } = await unitByNumber(store.db, input.unit)
      return { ...(await prepare(store, [id], now)), names: await listWeighedReadings(store.db, id) }
    }),
  ),
  calibrate: procedures.weighIn.calibrate.handler(
    onChange(async (store, input, { now }) => {
      const made = await calibrateRecorded(store, input, now)
      return made
    }),
  ),
  save: procedures.weighIn.save.handler(
    onChange((store, input, { now }) => saveOnce(store.db, sentSave(input), () => saveVisit(store, input, now))),
  ),
  voidCalibration: procedures.weighIn.voidCalibration.handler(
    onChange(async (store, input, { now }) => {
      const found = await findCalibration(store.db, input.id)
      if (!found)
        throw new TarelineError(
          'no-such-calibration',
          phrase('This calibration is not in the record. Nothing was changed.'),
        )
      if (found.voided_at !== null)
        throw new TarelineError(
          'voided-already',
          phrase('{voided_by} has voided this calibration meanwhile. Nothing was changed.', {
            voided_by: found.voided_by ?? phrase('Somebody'),
          }),
        )
      await store.db
        .transaction()
        .execute((db) => voidCalibration(db, found, input.reason, { by: input.by, at: toStoredInstant(now) }))
      return { voided: true as const }
    }),
  ),
}
