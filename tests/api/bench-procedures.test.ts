import { safe } from '@orpc/client'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { CellHistory } from '#core/cells/lives.ts'
import { machineZone, timeNow } from '#core/store/clock.ts'
import { addDays, dayOf, noonOf } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { readBooks } from '#core/store/books.ts'
import { type Client, clientOver, ways } from '#tests/api/windows.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'
import { insertSimulatedFleet } from '#tests/store/battery-store.ts'
import { seeded } from '#tests/seeded.ts'
import { some } from '#tests/some.ts'

const dayMs = 86_400_000
const today = dayOf(timeNow(), machineZone())
const inDays = (days: number) => addDays(today, days)

/**
 * 80 sensors over the last four years, cells of 600 days: one in three swapped when it reported low, the others when
 * dead; one sensor without a change.
 */
function histories(): CellHistory[] {
  const random = seeded(11)
  const now = timeNow()
  return Array.from({ length: 80 }, (_, i) => {
    const mountedAt = now - (1461 - Math.floor(random() * 90)) * dayMs
    const changes: CellHistory['changes'][number][] = [{ changedAt: mountedAt, reason: 'new', cell: null }]
    for (let at = mountedAt; ; ) {
      const low = random() < 0.33
      at += Math.round(600 * (-Math.log(1 - random())) ** (1 / 3) * (low ? 0.95 : 1)) * dayMs
      if (at > now - 2 * dayMs) break
      changes.push({ changedAt: at, reason: low ? 'low' : 'dead', cell: null })
    }
    return {
      serial: `S${i}`,
      cell: i % 4 === 0 ? 'CR2477' : 'CR2450',
      reportEveryS: 300,
      mounts: [{ mountedAt, removedAt: null }],
      changes: i === 79 ? [] : changes,
    }
  })
}

describe.each(ways)('the Shop Bench over %s', (way) => {
  let app: RunningApp
  let client: Client
  let close = () => {}
  beforeAll(async () => {
    app = await runApp()
    await app.context.fleet.use(async (store) => insertSimulatedFleet(store, { histories: histories() }))
    ;({ client, close } = await clientOver(way, app))
  })
  afterAll(async () => {
    close()
    expect(app.reported).toEqual([])
    await app[Symbol.asyncDispose]()
  })

  it('plans today, this week and the next weeks by yard within the benches', async () => {
    const plan = await client.bench.plan()
    expect(plan).toMatchObject({
      firstDay: today,
      lastDay: inDays(27),
      assumedCells: 1,
      contradictions: { total: 0, first: [] },
      yards: ['East yard', 'North yard', 'South yard'],
    })
    expect(plan.visits.length).toBeGreaterThan(10)
    // On a weekend the benches' next day stands in for today.
    const nextDays = new Map(plan.benchDays.map(({ yard, next }) => [yard, next]))
    for (const { when, yard, day, items, minutes } of plan.visits) {
      expect(when === 'today').toBe(day === nextDays.get(yard))
      expect(minutes).toBe(items.reduce((sum, item) => sum + item.minutes, 0))
    }
    for (const { days } of some(plan.benches))
      for (const { room, used } of some(days)) expect(used).toBeLessThanOrEqual(room)
    const late = plan.visits.flatMap(({ unit, yard, dueOn, untilDay, problem }) =>
      problem === null ? [] : `${unit} ${yard} ${dueOn} ${untilDay} ${problem}`,
    )
    expect(late.length).toBeGreaterThan(0)
    expect(
      plan.notMet
        .flatMap(({ first }) => first)
        .map(({ unit, yard, dueOn, day, message }) => `${unit} ${yard} ${dueOn} ${day} ${message}`)
        .sort(),
    ).toEqual(late.sort())
    expect(new Set(plan.notMet.map(({ because }) => because))).toContain('date already past')
    expect((await client.bench.plan({ days: 7 })).lastDay).toBe(inDays(6))
  })

  it('tells the visits of a yard and a span page by page, with what stands around them', async () => {
    const whole = await client.bench.plan()
    expect(whole).toMatchObject({ total: whole.visits.length, whyEmpty: null })
    const first = whole.visits.filter(({ when }) => when === 'today')
    expect(whole.next).toMatchObject({
      visits: first.length,
      cells: first.flatMap(({ items }) => items.filter(({ kind }) => kind === 'cell')).length,
    })
    const pages = [
      await client.bench.plan({ limit: 4 }),
      await client.bench.plan({ offset: 4, limit: 4 }),
      await client.bench.plan({ offset: 8 }),
    ]
    expect(pages.flatMap(({ visits }) => visits)).toEqual(whole.visits)
    expect(new Set(pages.map(({ total }) => total))).toEqual(new Set([whole.total]))

    const yard = 'East yard'
    const own = await client.bench.plan({ yard, when: 'this week' })
    expect(own.visits).toEqual(whole.visits.filter((visit) => visit.yard === yard && visit.when !== 'later'))
    expect(new Set([...own.benches, ...own.benchDays].map((bench) => bench.yard))).toEqual(new Set([yard]))
    const missed = (plan: typeof whole) => plan.notMet.reduce((sum, { visits }) => sum + visits, 0)
    const byYard = await Promise.all([...whole.yards, null].map((of) => client.bench.plan({ yard: of })))
    for (const part of [missed, ({ overdue }: typeof whole) => overdue, ({ total }: typeof whole) => total])
      expect(byYard.reduce((sum, plan) => sum + part(plan), 0)).toBe(part(whole))
    expect((await client.bench.plan({ yard: null })).whyEmpty).toMatch(/^Nothing to do through .* Other yards have /)
  })

  it('tells a unit’s work with its steps and cautions', async () => {
    const [visit] = (await client.bench.plan()).visits
    const work = await client.bench.unitWork({ unit: visit?.unit as string })
    expect(work).toMatchObject({ unit: visit?.unit, yard: visit?.yard, retired: false, plannedVisits: [] })
    expect(
      work.items
        .filter(({ visitOn }) => visitOn === visit?.day)
        .map(({ id }) => id)
        .sort(),
    ).toEqual(visit?.items.map(({ id }) => id).sort())
    expect(work.cells).toHaveLength(2)
    expect(work.steps.cell?.length).toBeGreaterThan(2)
    expect(work.cautions.join(' ')).toContain('brake air')
    const { error, isDefined } = await safe(client.bench.unitWork({ unit: 'U-0' }))
    expect(isDefined && error.data.code).toBe('no-such-unit')
  })

  it('records many swaps at once: the work and the findings go, and each is taken down', async () => {
    const before = await client.bench.plan()
    const due = before.visits.flatMap(({ items }) => items.flatMap(({ serial }) => serial ?? [])).slice(0, 5)
    expect(due).toHaveLength(5)
    const { revision } = await client.file.state()
    expect(
      await client.bench.markSwapped({
        cells: [...due, due[0] as string].map((serial) => ({
          serial,
          reason: serial === due[1] ? ('low' as const) : ('scheduled' as const),
        })),
        on: inDays(-1),
        cell: 'CR2477',
        by: 'M. Adair',
      }),
    ).toEqual({ swapped: 5 })
    expect((await client.file.state()).revision).toBe(revision + 1)
    const after = await client.bench.plan()
    const left = new Set(after.visits.flatMap(({ items }) => items.flatMap(({ serial }) => serial ?? [])))
    for (const serial of due) expect(left.has(serial)).toBe(false)
    await app.context.fleet.use(async ({ db }) => {
      const log = await db
        .selectFrom('change_log')
        .selectAll()
        .where('subject', '=', 'battery')
        .orderBy('subject_key')
        .execute()
      expect(log.map(({ subject_key, action, changed_by }) => [subject_key, action, changed_by])).toEqual(
        due.toSorted().map((serial) => [serial, 'swapped', 'M. Adair']),
      )
      const changedAt = toStoredInstant(noonOf(inDays(-1), machineZone()))
      expect(log.map(({ new_value }) => JSON.parse(new_value as string))).toEqual(
        due.toSorted().map((serial) => ({
          changed_at: changedAt,
          reason: serial === due[1] ? 'low' : 'scheduled',
          cell: 'CR2477',
        })),
      )
      const found = await db
        .selectFrom('finding as f')
        .innerJoin('mount as m', 'm.circuit_id', 'f.circuit_id')
        .innerJoin('sensor as s', 's.id', 'm.sensor_id')
        .select('s.serial')
        .where('f.code', 'like', 'battery%')
        .execute()
      for (const { serial } of some(found)) expect(due).not.toContain(serial)
      expect(await readBooks(db)).toMatchObject({ linesCurrent: true })
    })
  })

  it('refuses a swap that cannot be, and then records none of them', async () => {
    const swaps = () =>
      app.context.fleet.use(
        async ({ db }) =>
          (
            await db
              .selectFrom('battery_change')
              .select(({ fn }) => fn.countAll<number>().as('count'))
              .executeTakeFirstOrThrow()
          ).count,
      )
    const before = await swaps()
    const refusal = async ({ serials = ['S20', 'S21'], on = today }: { serials?: string[]; on?: string }) => {
      const { error, isDefined } = await safe(
        client.bench.markSwapped({
          cells: serials.map((serial) => ({ serial, reason: 'dead' as const })),
          on,
          cell: null,
          by: 'M. Adair',
        }),
      )
      return isDefined ? [error.data.code, error.message] : ['none', String(error)]
    }
    expect(await refusal({ serials: ['S20', 'X1'] })).toEqual([
      'no-such-sensor',
      'There is no sensor X1 in this fleet. Nothing was recorded.',
    ])
    expect((await refusal({ on: inDays(1) }))[0]).toBe('in-the-future')
    expect((await refusal({ on: '2020-01-01' }))[0]).toBe('not-after-last-change')
    expect((await refusal({ on: '2026-02-30' }))[0]).toBe('not-accepted')
    expect((await refusal({ serials: [] }))[0]).toBe('not-accepted')
    expect(await swaps()).toBe(before)
  })

  it('plans visits, typed or from a file, uses them first, and takes them back', async () => {
    const target = (await client.bench.plan()).visits.find(({ items }) =>
      items.some(({ kind }) => kind === 'recalibration'),
    )
    const unit = target?.unit as string
    // A bench day: the benches work from Monday to Friday.
    const on = [3, 4, 5].map(inDays).find((day) => ![0, 6].includes(new Date(day).getUTCDay())) as string
    expect(await client.bench.addVisit({ unit, yard: 'East yard', on, by: 'P. Quist' })).toEqual({ added: true })
    expect(await client.bench.addVisit({ unit, yard: 'East yard', on, by: 'P. Quist' })).toEqual({ added: false })
    const plan = await client.bench.plan()
    expect((await client.bench.plannedVisits()).rows).toMatchObject([{ unit, yard: 'East yard', on }])
    expect(plan.visits.find((visit) => visit.unit === unit && visit.plannedOn === on)).toMatchObject({
      yard: 'East yard',
      day: on,
    })
    expect((await client.bench.unitWork({ unit })).cells[0]).toMatchObject({ nextVisitOn: on, visitAssumed: false })

    expect(
      await client.bench.addVisits({ csv: `unit,date\nU-10001,${inDays(9)}\nU-10002,${inDays(10)}\n`, by: 'P. Quist' }),
    ).toEqual({ outcome: 'stored', added: 2 })
    expect(
      await client.bench.addVisits({ csv: `unit,yard,date\nU-10003,,${inDays(9)}\nU-1,,soon\n`, by: 'P. Quist' }),
    ).toMatchObject({
      outcome: 'refused',
      problems: [
        { line: 3, column: 'unit' },
        { line: 3, column: 'date' },
      ],
    })
    const { rows: plannedVisits, total } = await client.bench.plannedVisits()
    expect([plannedVisits.length, total]).toEqual([3, 3])
    expect(await client.bench.plannedVisits({ offset: 1, limit: 1 })).toEqual({ rows: [plannedVisits[1]], total: 3 })
    expect(await client.bench.removeVisit({ id: plannedVisits[0]?.id as number, by: 'P. Quist' })).toEqual({
      removed: true,
    })
    const again = await safe(client.bench.removeVisit({ id: plannedVisits[0]?.id as number, by: 'P. Quist' }))
    expect(again.isDefined && again.error.data.code).toBe('no-such-visit')
    expect((await client.bench.plannedVisits()).total).toBe(2)
    const past = await safe(client.bench.addVisit({ unit, yard: null, on: inDays(-1), by: 'P. Quist' }))
    expect(past.isDefined && past.error.data.code).toBe('in-the-past')
  })

  it('draws the lives by cell and interval, within 0 to 1, with the numbers behind them', async () => {
    const { strata } = await client.bench.lives()
    expect(strata.map(({ cell, reportEveryS }) => [cell, reportEveryS]).sort()).toEqual([
      ['CR2450', 300],
      ['CR2477', 300],
    ])
    for (const {
      observed,
      law,
      lifeDays,
      lifeLowDays,
      lifeHighDays,
      swapAgeDays,
      predictedLifeDays,
      died,
      low,
      lives,
    } of strata) {
      expect(lifeLowDays).toBeLessThan(lifeDays)
      expect(lifeHighDays).toBeGreaterThan(lifeDays)
      expect(swapAgeDays).toBeLessThan(predictedLifeDays)
      expect(died + low).toBeLessThanOrEqual(lives)
      for (const { days, alive, lower, upper } of [observed, law]) {
        expect(new Set([days.length, alive.length, lower.length, upper.length]).size).toBe(1)
        expect(days.length).toBeGreaterThan(1)
        for (let i = 1; i < days.length; i += 1) {
          expect(days[i]).toBeGreaterThan(days[i - 1] as number)
          expect(alive[i]).toBeLessThanOrEqual(alive[i - 1] as number)
        }
        for (let i = 0; i < days.length; i += 1) {
          for (const share of [lower[i], alive[i], upper[i]]) expect(share ?? 0.5).toBeGreaterThanOrEqual(0)
          expect(lower[i] ?? 0).toBeLessThanOrEqual((alive[i] as number) + 1e-12)
          expect(upper[i] ?? 1).toBeGreaterThanOrEqual((alive[i] as number) - 1e-12)
        }
      }
    }
    // The truth of the simulation is 600 days.
    expect(strata.find(({ cell }) => cell === 'CR2450')?.lifeLowDays).toBeLessThan(620)
    expect(strata.find(({ cell }) => cell === 'CR2450')?.lifeHighDays).toBeGreaterThan(560)
  })

  it('tells what it cost by month, and what a faster interval would cost', async () => {
    const { months, intervals, riskPercent } = await client.bench.cost()
    expect(riskPercent).toBe(10)
    expect(months.map(({ month }) => month)).toEqual([...months.map(({ month }) => month)].sort())
    const recorded = histories().flatMap(({ changes }) => changes)
    expect(months.reduce((sum, { deaths }) => sum + deaths, 0)).toBe(
      recorded.filter(({ reason }) => reason === 'dead').length,
    )
    for (const { now, faster, sensors } of some(intervals)) {
      expect(sensors).toBeGreaterThan(0)
      expect(faster.map(({ reportEveryS }) => reportEveryS)).toEqual([150, 75])
      for (const each of [now, ...faster]) expect(each.deaths / each.cells).toBeCloseTo(0.1, 3)
      expect(faster[0]?.cells).toBeGreaterThan(now.cells)
      expect(faster[1]?.cells).toBeGreaterThan(faster[0]?.cells as number)
    }
  })

  it('counts the cells to order by yard, type and month, less what is on hand, and what they cost', async () => {
    const order = await client.bench.order()
    expect(order.months).toHaveLength(7)
    expect(order.months[0]).toBe(today.slice(0, 7))
    expect(order.through).toBe(order.months.at(-1))
    expect(new Set(order.rows.map(({ cell }) => cell))).toEqual(new Set(['CR2450', 'CR2477']))
    expect(order.rows.reduce((sum, { cells }) => sum + cells, 0)).toBe(80)
    for (const { need, onHand, toOrder, dollars } of some(order.rows)) {
      expect(need.low).toBeLessThanOrEqual(need.high)
      expect([onHand, toOrder, dollars]).toEqual([null, need.high, 3 * need.high])
    }
    const [row] = order.rows
    if (!row?.cell) throw new Error('a row has its type')
    const { yard, cell } = row
    await client.bench.setStock({ yard, cell: ` ${cell.toLowerCase()} `, onHand: 2, was: null, by: 'M. Adair' })
    await client.bench.setPrice({ cell, dollars: 4.25, was: null, by: 'M. Adair' })
    const after = await client.bench.order({ through: order.months[2] })
    const same = after.rows.find((each) => each.yard === yard && each.cell === cell)
    expect(after.through).toBe(order.months[2])
    expect(same?.onHand).toBe(2)
    expect(same?.toOrder).toBe(Math.max(0, (same?.need.high ?? 0) - 2))
    expect(same?.need.high).toBeLessThanOrEqual(row.need.high)
    expect(same?.dollars).toBeCloseTo(4.25 * (same?.toOrder ?? 0), 9)
    expect(after.prices.find((each) => each.cell === cell)).toMatchObject({ typed: 4.25, dollars: 4.25 })

    const clash = await safe(client.bench.setStock({ yard, cell, onHand: 9, was: null, by: 'P. Quist' }))
    expect(clash.isDefined && clash.error.code).toBe('CONFLICT')
    const nowhere = await safe(client.bench.setStock({ yard: 'Nowhere', cell, onHand: 9, was: null, by: 'P. Quist' }))
    expect(nowhere.error?.message).toBe('There is no yard Nowhere in this fleet.')
    const [step] = (await client.log.list({})).rows
    expect(step).toMatchObject({ by: 'M. Adair', subject: 'cell price', key: cell, action: 'added' })
    const undone = async () => {
      const last = await client.log.last()
      await client.log.undo({ revision: last?.revision ?? 0, by: 'M. Adair' })
    }
    await undone()
    expect((await client.bench.order()).prices.find((each) => each.cell === cell)?.typed).toBeNull()
    await client.bench.setStock({ yard, cell, onHand: null, was: 2, by: 'M. Adair' })
    expect((await client.bench.order()).rows[0]?.onHand).toBeNull()
    await undone()
    expect((await client.bench.order()).rows[0]?.onHand).toBe(2)
  })

  it('hands over the order as a list to print, a spreadsheet and CSV', async () => {
    const order = await client.bench.order()
    const files = await Promise.all(
      (['pdf', 'spreadsheet', 'csv'] as const).map((format) =>
        client.bench.orderFile({ format, through: order.months[1] }),
      ),
    )
    expect(files.map(({ name }) => name)).toEqual(
      ['pdf', 'xlsx', 'csv'].map((ending) => `cells-to-order-${today}.${ending}`),
    )
    const [pdf, spreadsheet, csv] = await Promise.all(files.map(async (file) => Buffer.from(await file.arrayBuffer())))
    expect(pdf?.subarray(0, 5).toString()).toBe('%PDF-')
    expect(spreadsheet?.subarray(0, 2).toString()).toBe('PK')
    // The second sheet says what the columns mean.
    expect(spreadsheet?.toString('latin1')).toContain('xl/worksheets/sheet2.xml')
    const lines = csv?.toString('utf8').trim().split('\n') ?? []
    expect(lines).toHaveLength(1 + order.rows.length)
    expect(lines[0]).toBe(
      `yard,cell,in_service,${order.months
        .slice(0, 2)
        .map((month) => `${month}_expected,${month}_low,${month}_high`)
        .join(',')},need_expected,need_low,need_high,on_hand,to_order,dollars`,
    )
  })

  it('hands over the work list, the calendar and the CSV of a yard or of all', async () => {
    const pdf = await client.bench.workListPdf({ when: 'all' })
    expect(pdf).toBeInstanceOf(Blob)
    expect([pdf.name, pdf.type]).toEqual([`shop-bench-${today}.pdf`, 'application/pdf'])
    expect(Buffer.from(await pdf.slice(0, 5).arrayBuffer()).toString()).toBe('%PDF-')
    const plan = await client.bench.plan()
    const own = plan.visits.filter(({ yard }) => yard === 'East yard')
    const calendar = await client.bench.calendar({ yard: 'East yard', when: 'all' })
    expect(calendar.fileName).toBe(`shop-bench-east-yard-${today}.ics`)
    expect(calendar.text.match(/BEGIN:VEVENT/g)).toHaveLength(own.length)
    const csv = await client.bench.csv({ yard: 'East yard', when: 'all' })
    expect(csv.text.trim().split('\n')).toHaveLength(1 + own.reduce((sum, { items }) => sum + items.length, 0))
    expect((await client.bench.csv({ yard: null, when: 'today' })).text.trim().split('\n')).toHaveLength(1)
  })
})
