import { basename } from 'node:path'
import type { z } from 'zod'
import { refusal } from '#core/api/answer-errors.ts'
import { benchNow, planNow } from '#core/api/bench-now.ts'
import { viewCost, viewLives, viewPlan, viewTrips, viewUnitWork } from '#core/api/bench-view.ts'
import { freshJudgements } from '#core/api/freshen.ts'
import { onFleet, onChange } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import { weighTrips } from '#core/bench/weigh-trips.ts'
import { cautions, stepsOf } from '#core/bench/work.ts'
import type { benchListInput, markSwappedInput } from '#core/contracts/bench.ts'
import { benchCalendar, benchCsv } from '#core/exchange/documents/bench-lists.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import { workListDefinition } from '#core/exchange/documents/work-list.ts'
import { readVisits } from '#core/exchange/read-visits.ts'
import { readWeighingOffers, yardNames } from '#core/store/bench.ts'
import { findSwapSensors, recordSwaps } from '#core/store/cells.ts'
import { readScales } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { noSuchUnit, unitByNumber } from '#core/store/unit-sheet.ts'
import { addPlannedVisits, removePlannedVisit, visitNames } from '#core/store/visits.ts'
import { readZone } from '#core/store/zone.ts'
import { type LocalDay, dayOf, noonOf } from '#core/words/day.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { sayOfRules } from '#core/words/say.ts'
import { TarelineError } from '#core/words/problem.ts'
import { inFileName } from '#core/words/text.ts'

/** What is known to the day only happened at its noon; today's at the latest now. */
const momentOf = (day: LocalDay, zone: string, now: number): number => Math.min(noonOf(day, zone), now)

async function markSwapped(
  store: Store,
  { serials, on, cell, reason, by }: z.infer<typeof markSwappedInput>,
  now: number,
): Promise<number> {
  const zone = await readZone(store.db)
  const today = dayOf(now, zone)
  if (on > today) {
    throw refusal({
      code: 'in-the-future',
      field: 'on',
      value: on,
      accepted: `a day up to ${today}`,
      message: `${on} lies ahead. A swap is recorded once it is done: a day up to ${today} is accepted.`,
    })
  }
  const changedAt = momentOf(on, zone, now)
  const stored = toStoredInstant(changedAt)
  const wanted = [...new Set(serials)]
  await store.db.transaction().execute(async (db) => {
    const sensors = await findSwapSensors(db, wanted)
    const found = new Set(sensors.map(({ serial }) => serial))
    const missing = wanted.find((serial) => !found.has(serial))
    if (missing !== undefined) {
      throw refusal({
        code: 'no-such-sensor',
        field: 'serials',
        value: missing,
        accepted: 'the serial of a sensor in this fleet',
        message: `There is no sensor ${missing} in this fleet. Nothing was recorded.`,
      })
    }
    for (const { serial, lastChangedAt, mountedAt } of sensors) {
      const since = [lastChangedAt, lastChangedAt === null ? mountedAt : null].find((at) => at !== null)
      if (since !== undefined && since >= stored) {
        const sinceDay = dayOf(fromStoredInstant(since), zone)
        throw refusal({
          code: 'not-after-last-change',
          field: 'on',
          value: on,
          accepted: `a day after ${sinceDay} for sensor ${serial}`,
          message:
            `Sensor ${serial} has had its present cell since ${sinceDay}; ` +
            `a swap on ${on} would come before that. Nothing was recorded.`,
        })
      }
    }
    await recordSwaps(db, { sensors, changedAt: stored, reason, cell }, by, toStoredInstant(now))
  })
  return wanted.length
}

/** The visits that a document lists. */
async function listed(store: Store, { yard, when, days }: z.infer<typeof benchListInput>, now: number) {
  const plan = viewPlan(await planNow(store, now, days), now, await yardNames(store.db))
  const visits = plan.visits.filter(
    (visit) =>
      (yard === undefined || visit.yard === yard) &&
      (when === 'all' || visit.when === 'today' || (when === 'this week' && visit.when === 'this week')),
  )
  const place = yard === undefined ? '' : ` at ${yard ?? 'units without a yard'}`
  const title = `Shop work${place}, ${when === 'all' ? `${plan.firstDay} through ${plan.lastDay}` : when}`
  const fileName = [
    'shop-bench',
    ...(yard === undefined || yard === null ? [] : [inFileName(yard)]),
    plan.firstDay,
  ].join('-')
  return { visits, title, fileName, asOf: plan.firstDay }
}

/** Trips to the scale that are offered for a week. */
const mostTrips = 10

export const benchHandlers = {
  plan: procedures.bench.plan.handler(
    onFleet(async (store, input, { now, report }) => {
      await freshJudgements(store, now, report)
      return viewPlan(await planNow(store, now, input?.days), now, await yardNames(store.db))
    }),
  ),
  unitWork: procedures.bench.unitWork.handler(
    onFleet(async (store, input, { now }) => {
      const unit = await unitByNumber(store.db, input.unit)
      return {
        unit: unit.number,
        yard: unit.yard,
        retired: unit.service_state === 'retired',
        ...viewUnitWork(await planNow(store, now), unit.id),
        steps: {
          cell: [...stepsOf('cell')],
          recalibration: [...stepsOf('recalibration')],
          repair: [...stepsOf('repair')],
        },
        cautions: [...cautions],
      }
    }),
  ),
  weighNext: procedures.bench.weighNext.handler(
    onFleet(async (store, _, { now, report }) => {
      const asOf = await freshJudgements(store, now, report)
      const scales = readScales(store)
      const trips = weighTrips(readWeighingOffers(store, scales), mostTrips)
      return {
        asOf: toStoredInstant(asOf),
        trips: viewTrips(trips, scales, sayOfRules(await readHouseRules(store.db))),
      }
    }),
  ),
  markSwapped: procedures.bench.markSwapped.handler(
    onChange(async (store, input, { now }) => {
      const swapped = await markSwapped(store, input, now)
      return { swapped }
    }),
  ),
  addVisit: procedures.bench.addVisit.handler(
    onChange(async (store, { unit, yard, on, by }, { now }) => {
      const { units, yards } = await visitNames(store.db)
      const unitId = units.get(unit)
      const yardId = yard === null ? null : yards.get(yard)
      if (unitId === undefined) throw noSuchUnit(unit)
      if (yardId === undefined)
        throw refusal({
          code: 'no-such-yard',
          field: 'yard',
          value: yard ?? '',
          accepted: 'a yard of this fleet, or none for the unit’s own',
          message: `There is no yard ${yard} in this fleet.`,
        })
      const today = dayOf(now, await readZone(store.db))
      if (on < today)
        throw refusal({
          code: 'in-the-past',
          field: 'on',
          value: on,
          accepted: `a day from ${today} on`,
          message: `${on} has passed. A visit is planned for a day from ${today} on.`,
        })
      const changed = await store.db
        .transaction()
        .execute((db) => addPlannedVisits(db, [{ unitId, yardId, on }], by, toStoredInstant(now)))
      return { added: changed > 0 }
    }),
  ),
  addVisits: procedures.bench.addVisits.handler(
    onChange(async (store, input, { now }) => {
      const { visits, problems } = await readVisits({ text: input.csv }, 'The file', await visitNames(store.db))
      if (problems.problems.length > 0) {
        return {
          outcome: 'refused' as const,
          problems: problems.problems.map(({ line, column, message }) => ({ line, column, message })),
          more: problems.more,
        }
      }
      const added = await store.db
        .transaction()
        .execute((db) => addPlannedVisits(db, visits, input.by, toStoredInstant(now)))
      return { outcome: 'stored' as const, added }
    }),
  ),
  removeVisit: procedures.bench.removeVisit.handler(
    onChange(async (store, input, { now }) => {
      const unitId = await store.db
        .transaction()
        .execute((db) => removePlannedVisit(db, input.id, input.by, toStoredInstant(now)))
      if (unitId === undefined)
        throw new TarelineError('no-such-visit', 'This planned visit is no longer there: it was removed meanwhile.')
      return { removed: true as const }
    }),
  ),
  lives: procedures.bench.lives.handler(onFleet(async (store, _, { now }) => viewLives(await benchNow(store, now)))),
  cost: procedures.bench.cost.handler(onFleet(async (store, _, { now }) => viewCost(await benchNow(store, now)))),
  workListPdf: procedures.bench.workListPdf.handler(
    onFleet(async (store, input, { now }) => {
      const { visits, title, fileName, asOf } = await listed(store, input, now)
      return new File(
        [await makePdf(workListDefinition(visits, { title, asOf, file: basename(store.file) }))],
        `${fileName}.pdf`,
        { type: 'application/pdf' },
      )
    }),
  ),
  calendar: procedures.bench.calendar.handler(
    onFleet(async (store, input, { now }) => {
      const { visits, fileName } = await listed(store, input, now)
      return { fileName: `${fileName}.ics`, text: benchCalendar(visits, now) }
    }),
  ),
  csv: procedures.bench.csv.handler(
    onFleet(async (store, input, { now }) => {
      const { visits, fileName } = await listed(store, input, now)
      return { fileName: `${fileName}.csv`, text: benchCsv(visits) }
    }),
  ),
}
