import { basename } from 'node:path'
import type { z } from 'zod'
import { refusal } from '#core/api/answer-errors.ts'
import { freshJudgements } from '#core/api/freshen.ts'
import { onFleet, onChange } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import { sharedAnswer } from '#core/api/shared-answer.ts'
import { sheetHead, spreadsheetFile } from '#core/api/sheet-files.ts'
import { spanName } from '#core/bench/bench-days.ts'
import { weighTrips } from '#core/bench/weigh-trips.ts'
import { cautions, stepsOf } from '#core/bench/steps.ts'
import { cellTypeOf } from '#core/cells/life-model.ts'
import type { benchListInput, markSwappedInput } from '#core/contracts/bench.ts'
import { benchCalendar, benchCsv } from '#core/exchange/documents/bench-lists.ts'
import { orderColumns, orderCsv, orderDefinition } from '#core/exchange/documents/order-list.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import { workListDefinition } from '#core/exchange/documents/work-list.ts'
import { readVisits } from '#core/exchange/read-visits.ts'
import { readWeighingOffers } from '#core/store/bench.ts'
import { keepCellPrice, keepCellStock } from '#core/store/cell-stock.ts'
import { findSwapSensors, recordSwaps } from '#core/store/cells.ts'
import { askBench } from '#core/jobs/bench-in-thread.ts'
import { viewTrips } from '#core/jobs/bench-view.ts'
import { readScales } from '#core/store/histories.ts'
import { readHouseRules, readMeasures } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { noSuchUnit, unitByNumber } from '#core/store/unit-sheet.ts'
import { addPlannedVisits, readPlannedVisits, removePlannedVisit, visitNames } from '#core/store/visits.ts'
import { readZone } from '#core/store/zone.ts'
import { type LocalDay, dayOf, noonOf, storedDay } from '#core/words/day.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { sayOfRules } from '#core/words/say.ts'
import { TarelineError } from '#core/words/problem.ts'
import { inFileName } from '#core/words/text.ts'
import { phrase } from '#core/words/phrase.ts'

/** What is known to the day only happened at its noon; today's at the latest now. */
const momentOf = (day: LocalDay, zone: string, now: number): number => Math.min(noonOf(day, zone), now)

async function markSwapped(
  store: Store,
  { cells, on, cell, by }: z.infer<typeof markSwappedInput>,
  now: number,
): Promise<number> {
  const zone = await readZone(store.db)
  const today = dayOf(now, zone)
  if (on > today) {
    throw refusal({
      code: 'in-the-future',
      field: 'on',
      value: on,
      accepted: phrase('a day up to {today}', { today }),
      message: phrase('{on} lies ahead. A swap is recorded once it is done: a day up to {today} is accepted.', {
        on,
        today,
      }),
    })
  }
  const changedAt = momentOf(on, zone, now)
  const stored = toStoredInstant(changedAt)
  const reasons = new Map(cells.map(({ serial, reason }) => [serial, reason]))
  const wanted = [...reasons.keys()]
  await store.db.transaction().execute(async (db) => {
    const sensors = await findSwapSensors(db, wanted)
    const found = new Set(sensors.map(({ serial }) => serial))
    const missing = wanted.find((serial) => !found.has(serial))
    if (missing !== undefined) {
      throw refusal({
        code: 'no-such-sensor',
        field: 'cells',
        value: missing,
        accepted: phrase('the serial of a sensor in this fleet'),
        message: phrase('There is no sensor {missing} in this fleet. Nothing was recorded.', { missing }),
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
          accepted: phrase('a day after {sinceDay} for sensor {serial}', { sinceDay, serial }),
          message: phrase(
            'Sensor {serial} has had its present cell since {sinceDay}; a swap on {on} would come before that. Nothing was recorded.',
            { serial, sinceDay, on },
          ),
        })
      }
    }
    const swaps = sensors.map((sensor) => ({ sensor, reason: reasons.get(sensor.serial) ?? 'scheduled' }))
    await recordSwaps(db, { swaps, changedAt: stored, cell }, by, toStoredInstant(now))
  })
  return wanted.length
}

/** The visits that a document lists. */
async function listed(store: Store, asked: z.infer<typeof benchListInput>, now: number) {
  const { yard, when } = asked
  const plan = await askBench(store, 'plan', asked, now)
  const place = yard === undefined ? '' : phrase(' at {yard}', { yard: yard ?? phrase('units without a yard') })
  const span = when === 'all' ? null : spanName(when, plan.benchDays, storedDay(plan.firstDay))
  const title = phrase('Shop work{place}, {span}', {
    place,
    span: span ?? phrase('{firstDay} through {lastDay}', { firstDay: plan.firstDay, lastDay: plan.lastDay }),
  })
  const fileName = [
    'shop-bench',
    ...(yard === undefined || yard === null ? [] : [inFileName(yard)]),
    plan.firstDay,
  ].join('-')
  return {
    visits: plan.visits,
    title,
    fileName,
    asOf: plan.firstDay,
    whyEmpty: plan.whyEmpty ?? '',
    measures: await readMeasures(store.db),
  }
}

const noSuchYard = (yard: string | null) =>
  refusal({
    code: 'no-such-yard',
    field: 'yard',
    value: yard ?? '',
    accepted: phrase('a yard of this fleet, or none for the unit’s own'),
    message: phrase('There is no yard {yard} in this fleet.', { yard }),
  })

/** Visits that are listed where nobody says how many. */
const mostListed = 100

/** Trips to the scale that are offered for a week. */
const mostTrips = 10

export const benchHandlers = {
  plan: procedures.bench.plan.handler(
    onFleet(async (store, input, { now, report }) => {
      await freshJudgements(store, now, report)
      return await askBench(store, 'plan', { limit: mostListed, ...input }, now)
    }),
  ),
  plannedVisits: procedures.bench.plannedVisits.handler(
    onFleet(async (store, input, { now }) => {
      const from = dayOf(now, await readZone(store.db))
      const { total, rows } = await readPlannedVisits(store.db, from, { offset: 0, limit: mostListed, ...input })
      return { total, rows: rows.map(({ id, unit, yard, visit_on }) => ({ id, unit, yard, on: visit_on })) }
    }),
  ),
  unitWork: procedures.bench.unitWork.handler(
    onFleet(async (store, input, { now }) => {
      const unit = await unitByNumber(store.db, input.unit)
      const measures = await readMeasures(store.db)
      return {
        unit: unit.number,
        yard: unit.yard,
        retired: unit.service_state === 'retired',
        ...(await askBench(store, 'unit', { unitId: unit.id }, now)),
        steps: {
          cell: [...stepsOf('cell', measures)],
          recalibration: [...stepsOf('recalibration', measures)],
          repair: [...stepsOf('repair', measures)],
        },
        cautions: [...cautions()],
      }
    }),
  ),
  weighNext: procedures.bench.weighNext.handler(
    onFleet(async (store, _, { now, report }) => {
      const asOf = await freshJudgements(store, now, report)
      return await sharedAnswer(store, 'weigh next', async () => {
        const scales = readScales(store)
        const trips = weighTrips(readWeighingOffers(store, scales), mostTrips)
        return {
          asOf: toStoredInstant(asOf),
          trips: viewTrips(trips, scales, sayOfRules(await readHouseRules(store.db))),
        }
      })
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
      if (yardId === undefined) throw noSuchYard(yard)
      const today = dayOf(now, await readZone(store.db))
      if (on < today)
        throw refusal({
          code: 'in-the-past',
          field: 'on',
          value: on,
          accepted: phrase('a day from {today} on', { today }),
          message: phrase('{on} has passed. A visit is planned for a day from {today} on.', { on, today }),
        })
      const changed = await store.db
        .transaction()
        .execute((db) => addPlannedVisits(db, [{ unitId, yardId, on }], by, toStoredInstant(now)))
      return { added: changed > 0 }
    }),
  ),
  addVisits: procedures.bench.addVisits.handler(
    onChange(async (store, input, { now }) => {
      const { visits, problems } = await readVisits({ text: input.csv }, phrase('The file'), await visitNames(store.db))
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
        throw new TarelineError(
          'no-such-visit',
          phrase('This planned visit is no longer there: it was removed meanwhile.'),
        )
      return { removed: true as const }
    }),
  ),
  lives: procedures.bench.lives.handler(onFleet((store, _, { now }) => askBench(store, 'lives', {}, now))),
  cost: procedures.bench.cost.handler(onFleet((store, _, { now }) => askBench(store, 'cost', {}, now))),
  order: procedures.bench.order.handler(
    onFleet((store, input, { now }) => askBench(store, 'order', { through: input?.through }, now)),
  ),
  setStock: procedures.bench.setStock.handler(
    onChange(async (store, { yard, cell, onHand, was, by }, { now }) => {
      const { yards } = await visitNames(store.db)
      const yardId = yard === null ? null : yards.get(yard)
      if (yardId === undefined) throw noSuchYard(yard)
      const figure = { yardId, yard, cell: cellTypeOf(cell) ?? cell, was, typed: onHand }
      await store.db.transaction().execute((db) => keepCellStock(db, figure, { by, at: toStoredInstant(now) }))
      return { saved: true as const }
    }),
  ),
  setPrice: procedures.bench.setPrice.handler(
    onChange(async (store, { cell, dollars, was, by }, { now }) => {
      const figure = { cell: cellTypeOf(cell) ?? cell, was, typed: dollars }
      await store.db.transaction().execute((db) => keepCellPrice(db, figure, { by, at: toStoredInstant(now) }))
      return { saved: true as const }
    }),
  ),
  orderFile: procedures.bench.orderFile.handler(
    onFleet(async (store, { through, format }, { now }) => {
      const order = await askBench(store, 'order', { through }, now)
      const asOf = dayOf(now, await readZone(store.db))
      const file = `cells-to-order-${asOf}`
      if (format === 'csv') return new File([orderCsv(order)], `${file}.csv`, { type: 'text/csv' })
      if (format === 'pdf')
        return new File([await makePdf(orderDefinition(order, { asOf, file: basename(store.file) }))], `${file}.pdf`, {
          type: 'application/pdf',
        })
      const head = await sheetHead(store, phrase('Cells to order'), now)
      return await spreadsheetFile(store, orderColumns(order), order.rows, head, `${file}.xlsx`)
    }),
  ),
  workListPdf: procedures.bench.workListPdf.handler(
    onFleet(async (store, input, { now }) => {
      const { visits, fileName, ...head } = await listed(store, input, now)
      return new File(
        [await makePdf(workListDefinition(visits, { ...head, file: basename(store.file) }))],
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
