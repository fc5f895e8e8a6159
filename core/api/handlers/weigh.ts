import { refusal } from '#core/api/answer-errors.ts'
import { unitsGiven } from '#core/api/at-the-door.ts'
import { freshWeighings } from '#core/api/freshen.ts'
import { onFleet, onChange } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import { bySendersClock, findUnits, pressuresByCircuit, sentSave } from '#core/api/typed.ts'
import type { PickUnits, SaveReadingInput, WeighPreview } from '#core/contracts/weigh.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { recordChanges } from '#core/store/change-log.ts'
import { listLastLed, listPickUnits } from '#core/store/fleet-lists.ts'
import { type FleetPlaces, headYardFt, inCouplingOrder, lookUpPlaces } from '#core/store/fleet-places.ts'
import { findNotedReading, listCombinations } from '#core/store/heavy.ts'
import type { Store } from '#core/store/open.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { findUnitIds } from '#core/store/roster-lines.ts'
import { addReading, listNamedCircuits } from '#core/store/save-weigh-in.ts'
import { rememberSave, saveOnce } from '#core/store/sent-saves.ts'
import { readStandings } from '#core/store/unit-sheet.ts'
import { evidenceUntil } from '#core/store/weigh-each.ts'
import { readWeighFacts } from '#core/store/weigh-facts.ts'
import { readReadings } from '#core/store/weighing-slices.ts'
import { readZone } from '#core/store/zone.ts'
import { namesDrivers } from '#core/words/house-rules.ts'
import { dayOf } from '#core/words/day.ts'
import { liesAhead, toStoredInstant, typedInstantMs } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

async function previewOf(
  store: Store,
  unitIds: readonly number[],
  places: FleetPlaces,
  { asOf, reading }: { readonly asOf: number | undefined; readonly reading: WeighPreview['reading'] },
): Promise<WeighPreview> {
  const standings = await readStandings(store.db, unitIds)
  return {
    facts: await readWeighFacts(store, { unitIds, tare: true, asOf, asLearnt: true }),
    unitIds: [...unitIds],
    elevationFt: headYardFt(unitIds, places),
    trusts: Array.from(standings, ([groupId, { trust, dueOn }]) => ({ groupId, trust, dueOn })),
    reading,
  }
}

async function previewReading(store: Store, name: string): Promise<WeighPreview> {
  const places = lookUpPlaces(store)
  const [found] = readReadings(store, places, (eb) => eb('r.name', '=', name))
  if (!found) throw new TarelineError('no-such-reading', phrase('There is no reading {name}.', { name }))
  const { takenAt, elevationFt, temperatureF, lift, pressures, ticket } = found
  const asOf = await evidenceUntil(store, found.readingId)
  const reading = {
    reading: name,
    takenAt: toStoredInstant(takenAt),
    elevationFt,
    temperatureF,
    lift,
    note: (await findNotedReading(store.db, name))?.note ?? null,
    pressures: Array.from(pressures, ([groupId, psi]) => ({ groupId, psi: [...psi] })),
    ticket: ticket && {
      scaleId: ticket.scaleId,
      weights: Array.from(ticket.weightsLb, ([groupId, weightLb]) => ({ groupId, weightLb })),
    },
  }
  return previewOf(store, found.unitIds, places, { asOf, reading })
}

async function saveReading(store: Store, input: SaveReadingInput, now: number) {
  const { clockOffMs, own } = bySendersClock(input.sent, now)
  const takenAt = typedInstantMs(own(input.takenAt))
  if (liesAhead(takenAt, now)) {
    throw refusal({
      code: 'in-the-future',
      field: 'takenAt',
      value: input.takenAt,
      accepted: phrase('a time up to now'),
      message: phrase('{takenAt} lies ahead. A reading is saved with the time at which it was taken.', {
        takenAt: input.takenAt,
      }),
    })
  }
  const unitIds = inCouplingOrder(await findUnits(store, input.units), lookUpPlaces(store))
  const pressures = pressuresByCircuit(await listNamedCircuits(store.db, unitIds), input.pressures)
  return await store.db.transaction().execute(async (db) => {
    const added = await addReading(
      db,
      unitIds,
      {
        takenAt: toStoredInstant(takenAt),
        localZone: input.localZone,
        elevationFt: input.elevationFt,
        temperatureF: input.temperatureF,
        lift: input.lift,
        note: input.note === '' ? null : input.note,
        driver: input.driver,
        lane: input.lane,
        pressures,
      },
      { source: 'weigh now', ticket: null },
    )
    await recordChanges(db, { by: input.by, at: toStoredInstant(now) }, [added.change])
    const answer = { reading: added.name, clockOffMs }
    await rememberSave(db, sentSave(input), answer, toStoredInstant(now))
    return answer
  })
}

/** So many leads and so many trailers are told at once: more than a list shows is found by typing. */
const mostPicked = 60

interface Sought {
  readonly text?: string | undefined
  readonly units?: readonly string[] | undefined
  /** Only these, by their numbers. */
  readonly among: readonly string[] | undefined
}

async function pickUnits(
  store: Store,
  { text: typed = '', units: named = [], among }: Sought,
  now: number,
): Promise<PickUnits> {
  const { db } = store
  const text = typed.trim()
  const sought = { text, among, limit: mostPicked + 1 }
  const leads = await findUnitIds(store, { ...sought, towed: false })
  const trailers = await findUnitIds(store, { ...sought, towed: true })
  const found = [...leads.slice(0, mostPicked), ...trailers.slice(0, mostPicked)]
  const place = new Map(found.map((id, at) => [id, at]))
  const numbers = among ? named.filter((unit) => among.includes(unit)) : named
  const units = await listPickUnits(db, { unitIds: found, numbers })
  units.sort((a, b) => (place.get(a.id) ?? found.length) - (place.get(b.id) ?? found.length))
  const numberOf = new Map(units.map(({ id, number }) => [id, number]))
  const led = await listLastLed(db, [...numberOf.keys()], dayOf(now, await readZone(db)))
  const combinations = await listCombinations(
    db,
    led.flatMap(({ weighing }) => weighing ?? []),
  )
  return {
    namesDrivers: namesDrivers(await readHouseRules(db)),
    whole: text === '' && leads.length <= mostPicked && trailers.length <= mostPicked,
    units: units.map(({ number, kind, yard, groups, sensed }) => ({
      unit: number,
      kind,
      yard,
      groups: groups ?? 0,
      sensed: sensed ?? 0,
    })),
    usual: led.flatMap(({ unit_id, weighing, weighed_on }) => {
      const unit = numberOf.get(unit_id)
      return unit === undefined || weighing === null || weighed_on === null
        ? []
        : [{ unit, units: combinations.get(weighing) ?? [unit], on: weighed_on }]
    }),
  }
}

export const weighHandlers = {
  combinations: procedures.weigh.combinations.handler(
    onFleet(async (store, input, { now, report, caller }) => {
      await freshWeighings(store, now, report)
      return await pickUnits(store, { ...input, among: unitsGiven(caller) }, now)
    }),
  ),
  preview: procedures.weigh.preview.handler(
    onFleet(async (store, input, { now, report }) => {
      // The fleet's figures, which every weight rests on, come with the stored weights.
      await freshWeighings(store, now, report)
      if ('reading' in input) return previewReading(store, input.reading)
      const places = lookUpPlaces(store)
      const unitIds = inCouplingOrder(await findUnits(store, input.units), places)
      const asOf = judgedAt(now, await readZone(store.db))
      return previewOf(store, unitIds, places, { asOf, reading: null })
    }),
  ),
  save: procedures.weigh.save.handler(
    onChange((store, input, { now }) => saveOnce(store.db, sentSave(input), () => saveReading(store, input, now))),
  ),
}
