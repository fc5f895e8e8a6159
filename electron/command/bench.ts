import { existsSync, statSync } from 'node:fs'
import { basename } from 'node:path'
import { type BenchVisit, lateSentence } from '#core/bench/plan.ts'
import type { PlannedVisit } from '#core/bench/visits.ts'
import { benchDaysOn, closedSentences } from '#core/bench/bench-days.ts'
import { cautions } from '#core/bench/steps.ts'
import { type BenchItem, benchItems, planWork } from '#core/bench/work.ts'
import { yardBenches } from '#core/bench/yard-bench.ts'
import type { MountedCell } from '#core/cells/fleet-cells.ts'
import type { CellState } from '#core/cells/outlook.ts'
import { readVisits } from '#core/exchange/read-visits.ts'
import { readEvidence, readYardDays, yardNames } from '#core/store/bench.ts'
import { readFleetCells } from '#core/store/cells.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { listPlannedVisits, visitNames } from '#core/store/visits.ts'
import { type LocalDay, dayNumber, dayOf, dayOfNumber, daysBetween, startOfDay, storedDay } from '#core/words/day.ts'
import { sayStored } from '#core/words/say.ts'
import { TarelineError } from '#core/words/problem.ts'
import { count } from '#core/words/text.ts'
import {
  type Answer,
  type Command,
  type CommandInput,
  UsageError,
  asOfOption,
  dbOption,
  askedMoment,
  withStore,
} from '#electron/command/command.ts'

/**
 * One sensor as the document has it. installed_on, swap_by: days; risk: chance, 0 to 1, that the cell dies before the
 * next visit.
 */
function cellRow({ seat, outlook }: MountedCell, contradictions: ReadonlyMap<string, string[]>, zone: string) {
  return {
    serial: outlook.serial,
    unit: seat.unit,
    group: seat.group,
    circuit: seat.circuit,
    installed_on: dayOf(outlook.installedAt, zone),
    swap_by: dayOf(outlook.swapByAt, zone),
    risk: outlook.riskBeforeVisit,
    cell: outlook.cell,
    report_every_s: outlook.reportEveryS,
    state: outlook.state,
    // Since when its sensor has been silent, most likely since the cell died.
    dead_since: outlook.deadSince === null ? null : dayOf(outlook.deadSince, zone),
    // No change is recorded: a fresh cell at the mounting is assumed.
    installed_assumed: outlook.installAssumed,
    age_days: daysBetween(dayOf(outlook.installedAt, zone), dayOf(outlook.asOf, zone)),
    next_visit_on: dayOf(outlook.nextVisitAt, zone),
    next_visit_assumed: outlook.visitAssumed,
    predicted_end_on: dayOf(outlook.predictedEndAt, zone),
    contradictions: contradictions.get(outlook.serial) ?? [],
  }
}
type CellRow = ReturnType<typeof cellRow>

const stateMarks: Readonly<Record<CellState, string>> = { fine: '    ', due: 'DUE ', overdue: 'OVER', dead: 'DEAD' }

const percent = (share: number) => `${(share * 100).toFixed(share < 0.1 ? 1 : 0)} %`

function rowText({
  serial,
  unit,
  group,
  circuit,
  cell,
  installed_on,
  installed_assumed,
  swap_by,
  risk,
  state,
  dead_since,
  next_visit_on,
  next_visit_assumed,
}: CellRow): string {
  const since = `in since ${installed_on}${installed_assumed ? ' (no change recorded; counted from the mounting)' : ''}`
  const visit = next_visit_assumed
    ? `by ${next_visit_on}, when no visit is planned`
    : `before the visit on ${next_visit_on}`
  const outlook =
    dead_since === null
      ? `swap by ${swap_by}  ${percent(risk)} risk ${visit}`
      : `silent and most likely dead since about ${dead_since}: swap it now`
  return (
    `${stateMarks[state]}  ${unit} ${group} ${circuit}  ` +
    `${serial}${cell === null ? '' : `  ${cell}`}  ${since}  ${outlook}`
  )
}

/** Says when the cell of each mounted sensor is to be swapped. */
export const batteriesCommand: Command = {
  name: 'batteries',
  summary:
    'Say of every mounted sensor when its cell went in, by when to swap it, ' +
    'and how likely it dies before the next visit.',
  arguments: [],
  options: { db: dbOption, 'as-of': asOfOption },
  run: (input) =>
    withStore(input.text('db'), async (store) => {
      const rules = await readHouseRules(store.db)
      const { zone } = rules
      const { mounted, issues } = readFleetCells(store, rules, askedMoment(input, zone))
      const contradictions = new Map<string, string[]>()
      for (const { serial, message } of issues)
        contradictions.set(serial, [...(contradictions.get(serial) ?? []), message])
      const rows = mounted
        .map((cell) => cellRow(cell, contradictions, zone))
        .sort((p, q) => (p.swap_by < q.swap_by ? -1 : p.swap_by > q.swap_by ? 1 : q.risk - p.risk))
      const inState = (state: CellRow['state']) => rows.filter((row) => row.state === state).length
      const dead = inState('dead')
      const assumed = rows.filter(({ installed_assumed }) => installed_assumed).length
      const closing = [
        `${count(rows.length, 'sensor')}: ${dead > 0 ? `${dead} dead, ` : ''}${inState('overdue')} overdue, ` +
          `${inState('due')} due, ${inState('fine')} fine.`,
        ...(assumed > 0 ? [`${count(assumed, 'cell')} without a recorded change: counted from the mounting.`] : []),
      ]
      return {
        document: rows,
        text: rows.length === 0 ? 'No sensor is mounted.' : [...rows.map(rowText), ...closing].join('\n'),
        messages: issues.map(({ message, at }) => `${message} (${dayOf(at, zone)})`),
      }
    }),
}

function readDays(input: CommandInput, usual: number): number {
  const days = input.numberOr('days') ?? usual
  if (!Number.isInteger(days) || days < 1 || days > 365)
    throw new UsageError(`--days is "${days}"; a whole number from 1 to 365 is needed.`)
  return days
}

const workRow = ({
  kind,
  group,
  circuit,
  serial,
  cell,
  reason,
  code,
  dueDay,
  minutes,
  risk,
  what,
  why,
  next,
}: BenchItem) => ({
  kind,
  group,
  circuit,
  serial,
  cell,
  reason,
  code,
  due_on: dayOfNumber(dueDay),
  minutes,
  risk,
  what,
  why,
  next,
})

function visitRow(visit: BenchVisit, yardOf: (yardId: number | null) => string | null) {
  const { unit, yardId, day, untilDay, dueDay, minutes, plannedDay, missedPlannedDay, lateDays, items } = visit
  return {
    yard: yardOf(yardId),
    unit,
    day: dayOfNumber(day),
    until_day: dayOfNumber(untilDay),
    due_on: dayOfNumber(dueDay),
    minutes,
    planned_visit: plannedDay === null ? null : dayOfNumber(plannedDay),
    missed_planned_visit: missedPlannedDay === null ? null : dayOfNumber(missedPlannedDay),
    late_days: lateDays,
    problem: lateSentence(visit) ?? null,
    work: (items as readonly BenchItem[]).map(workRow),
  }
}
type VisitRow = ReturnType<typeof visitRow>

function planText(visits: readonly VisitRow[]): string[] {
  const lines: string[] = []
  let heading = ''
  for (const { yard, unit, day, until_day, due_on, minutes, planned_visit, late_days, work } of visits) {
    const next = `${yard ?? 'No yard'}  ${day}`
    if (next !== heading) lines.push('', next)
    heading = next
    const about = [
      `${minutes} min`,
      late_days > 0 ? `was due on ${due_on}, ${count(late_days, 'day')} late` : `due on ${due_on}`,
      ...(planned_visit === null ? [] : ['planned visit']),
      ...(until_day === day ? [] : [`stays until ${until_day}`]),
    ]
    lines.push(
      `  ${unit}  ${about.join(', ')}`,
      ...work.flatMap(({ what, why, group, circuit, due_on: due }) => [
        `    ${[group, circuit].filter((name) => name !== null).join(' ')}  ${what} (${due})`,
        `      Why: ${why}`,
      ]),
    )
  }
  return lines.slice(1)
}

/** Plans the work of the shop by yard and day. */
export const benchPlanCommand: Command = {
  name: 'bench-plan',
  summary: 'Plan cells, recalibrations and repairs by yard and day, one visit a unit, and say what cannot be met.',
  arguments: [],
  options: {
    db: dbOption,
    'as-of': asOfOption,
    days: {
      type: 'string',
      value: 'N',
      about: 'days to plan, from the day asked about; the House Rules’ where it is left out',
    },
    visits: {
      type: 'string',
      value: 'FILE.csv',
      about: 'planned visits with the columns unit, yard, date, for this plan only',
    },
  },
  run: (input) =>
    withStore(input.text('db'), async (store): Promise<Answer> => {
      const rules = await readHouseRules(store.db)
      const { zone } = rules
      const asOf = askedMoment(input, zone)
      const today = dayOf(asOf, zone)
      const days = readDays(input, rules.benchHorizonDays)
      const comes = new Map<string, PlannedVisit>()
      const come = (unitId: number, yardId: number | null, on: LocalDay) =>
        comes.set(`${unitId} ${on}`, { unitId, yardId, day: dayNumber(on) })
      for (const { unit_id, yard_id, visit_on } of await listPlannedVisits(store.db, today))
        come(unit_id, yard_id, storedDay(visit_on))
      const path = input.textOr('visits')
      if (path !== undefined) {
        if (!existsSync(path) || !statSync(path).isFile())
          throw new TarelineError(
            'missing',
            `${path} is not a file. Name a CSV file with the columns unit, yard, date.`,
          )
        const { visits, problems } = await readVisits({ path }, basename(path), await visitNames(store.db))
        if (problems.problems.length > 0)
          return {
            document: { problems: problems.problems },
            text: '',
            messages: problems.problems.map(({ message }) => message),
            exit: 2,
          }
        for (const { unitId, yardId, on } of visits) come(unitId, yardId, on)
      }
      const planned = [...comes.values()]
      const next = new Map<number, number>()
      for (const { unitId, day } of planned)
        if (day > dayNumber(today)) next.set(unitId, Math.min(day, next.get(unitId) ?? Number.POSITIVE_INFINITY))
      const { mounted, issues } = readFleetCells(store, rules, asOf, {
        nextVisitAt: (unitId) => {
          const day = next.get(unitId)
          return day === undefined ? null : startOfDay(dayOfNumber(day), zone)
        },
      })
      const items = benchItems(
        { ...(await readEvidence(store, rules, asOf)), cells: mounted },
        rules,
        asOf,
        sayStored(zone),
      )
      const plan = planWork(items, planned, yardBenches(await readYardDays(store.db), rules), rules, asOf, days)
      const yards = await yardNames(store.db)
      const yardOf = (yardId: number | null) => (yardId === null ? null : (yards.get(yardId) ?? null))
      const visits = plan.visits.map((visit) => visitRow(visit, yardOf))
      const unplaced = plan.unplaced.map(({ unit, yardId, dueDay, minutes }) => ({
        unit,
        yard: yardOf(yardId),
        due_on: dayOfNumber(dueDay),
        minutes,
        message: `Unit ${unit} is due on ${dayOfNumber(dueDay)}, but its yard has no bench time.`,
      }))
      const notMet = [
        ...plan.late.map((visit) => ({
          unit: visit.unit,
          yard: yardOf(visit.yardId),
          due_on: dayOfNumber(visit.dueDay),
          day: dayOfNumber(visit.untilDay),
          because: visit.lateBecause,
          message: lateSentence(visit) as string,
        })),
        ...unplaced.map(({ unit, yard, due_on, message }) => ({
          unit,
          yard,
          due_on,
          day: null,
          because: 'no bench time',
          message,
        })),
      ]
      const benches = benchDaysOn(plan.benches, yards, plan.firstDay).filter(
        ({ yard }) => yard !== null || visits.some((visit) => visit.yard === null),
      )
      const closed = closedSentences(benches, today)
      const total = visits.reduce((sum, { work }) => sum + work.length, 0)
      return {
        document: {
          as_of: today,
          first_day: dayOfNumber(plan.firstDay),
          last_day: dayOfNumber(plan.lastDay),
          days,
          // Whether each bench works on the first day, and when it does next.
          benches: benches.map((bench) => ({ yard: bench.yard, closed: bench.closed, next_bench_day: bench.next })),
          visits,
          not_met: notMet,
          cautions: cautions(),
        },
        text:
          visits.length === 0 && notMet.length === 0
            ? [...closed, `No work is due through ${dayOfNumber(plan.lastDay)}.`].join('\n')
            : [
                ...(closed.length > 0 ? [...closed, ''] : []),
                ...planText(visits),
                '',
                ...(notMet.length > 0 ? ['Cannot be met:', ...notMet.map(({ message }) => `  ${message}`), ''] : []),
                ...cautions(),
                '',
                `${count(visits.length, 'visit')} for ${count(total, 'piece')} of work through ` +
                  `${dayOfNumber(plan.lastDay)}; ${notMet.length} cannot be met.`,
              ].join('\n'),
        messages: issues.map(({ message }) => message),
      }
    }),
}
