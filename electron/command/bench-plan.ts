import { existsSync, statSync } from 'node:fs'
import { basename } from 'node:path'
import { type BenchVisit, lateSentence } from '#core/battery/bench-plan.ts'
import type { PlannedVisit } from '#core/battery/bench-visits.ts'
import { type BenchItem, benchItems, planWork } from '#core/battery/bench-work.ts'
import { cautions } from '#core/battery/work-steps.ts'
import { readVisitsFile } from '#core/exchange/read-visits.ts'
import { dayOf } from '#core/fleet/instant.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { readFleetCells } from '#core/store/battery-cells.ts'
import { readEvidence, yardNames } from '#core/store/bench.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { listPlannedVisits, visitNames } from '#core/store/visits.ts'
import { asOfOption, readAsOf } from '#electron/command/as-of.ts'
import {
  amount,
  type Answer,
  type Command,
  type CommandInput,
  dbOption,
  UsageError,
} from '#electron/command/command.ts'
import { withStore } from '#electron/command/with-store.ts'

const dayMs = 86_400_000
const onDay = (day: number) => dayOf(day * dayMs)

function readDays(input: CommandInput, usual: number): number {
  const days = input.numberOr('days') ?? usual
  if (!Number.isInteger(days) || days < 1 || days > 365)
    throw new UsageError(`--days is "${days}"; a whole number from 1 to 365 is needed.`)
  return days
}

const workRow = ({ kind, group, circuit, serial, cell, code, dueDay, minutes, risk, what }: BenchItem) => ({
  kind,
  group,
  circuit,
  serial,
  cell,
  code,
  due_on: onDay(dueDay),
  minutes,
  risk,
  what,
})

function visitRow(visit: BenchVisit, yardOf: (yardId: number | null) => string | null) {
  const { unit, yardId, day, untilDay, dueDay, minutes, plannedDay, missedPlannedDay, lateDays, items } = visit
  return {
    yard: yardOf(yardId),
    unit,
    day: onDay(day),
    until_day: onDay(untilDay),
    due_on: onDay(dueDay),
    minutes,
    planned_visit: plannedDay === null ? null : onDay(plannedDay),
    missed_planned_visit: missedPlannedDay === null ? null : onDay(missedPlannedDay),
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
      late_days > 0 ? `was due on ${due_on}, ${amount(late_days, 'day')} late` : `due on ${due_on}`,
      ...(planned_visit === null ? [] : ['planned visit']),
      ...(until_day === day ? [] : [`stays until ${until_day}`]),
    ]
    lines.push(
      `  ${unit}  ${about.join(', ')}`,
      ...work.map(
        ({ what, group, circuit, due_on: due }) =>
          `    ${[group, circuit].filter((name) => name !== null).join(' ')}  ${what} (${due})`,
      ),
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
      const asOf = readAsOf(input)
      const rules = await readHouseRules(store.db)
      const days = readDays(input, rules.benchHorizonDays)
      const comes = new Map<string, PlannedVisit>()
      const come = (unitId: number, yardId: number | null, on: string) =>
        comes.set(`${unitId} ${on}`, { unitId, yardId, day: Date.parse(on) / dayMs })
      for (const { unit_id, yard_id, visit_on } of await listPlannedVisits(store.db, asOf))
        come(unit_id, yard_id, visit_on)
      const path = input.textOr('visits')
      if (path !== undefined) {
        if (!existsSync(path) || !statSync(path).isFile())
          throw new TarelineError(
            'missing',
            `${path} is not a file. Name a CSV file with the columns unit, yard, date.`,
          )
        const { visits, problems } = await readVisitsFile(path, basename(path), await visitNames(store.db))
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
        if (day * dayMs > asOf) next.set(unitId, Math.min(day * dayMs, next.get(unitId) ?? Number.POSITIVE_INFINITY))
      const { mounted, issues } = readFleetCells(store, rules, asOf, {
        nextVisitAt: (unitId) => next.get(unitId) ?? null,
      })
      const items = benchItems({ ...(await readEvidence(store, rules, asOf)), cells: mounted }, rules, asOf)
      const plan = planWork(items, planned, rules, asOf, days)
      const yards = await yardNames(store.db)
      const yardOf = (yardId: number | null) => (yardId === null ? null : (yards.get(yardId) ?? null))
      const visits = plan.visits.map((visit) => visitRow(visit, yardOf))
      const unplaced = plan.unplaced.map(({ unit, yardId, dueDay, minutes }) => ({
        unit,
        yard: yardOf(yardId),
        due_on: onDay(dueDay),
        minutes,
        message: `Unit ${unit} is due on ${onDay(dueDay)}, but its yard has no bench time.`,
      }))
      const notMet = [
        ...plan.late.map((visit) => ({
          unit: visit.unit,
          yard: yardOf(visit.yardId),
          due_on: onDay(visit.dueDay),
          day: onDay(visit.untilDay),
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
      const total = visits.reduce((sum, { work }) => sum + work.length, 0)
      return {
        document: {
          as_of: dayOf(asOf),
          first_day: onDay(plan.firstDay),
          last_day: onDay(plan.lastDay),
          days,
          visits,
          not_met: notMet,
          cautions,
        },
        text:
          visits.length === 0 && notMet.length === 0
            ? `No work is due through ${onDay(plan.lastDay)}.`
            : [
                ...planText(visits),
                '',
                ...(notMet.length > 0 ? ['Cannot be met:', ...notMet.map(({ message }) => `  ${message}`), ''] : []),
                ...cautions,
                '',
                `${amount(visits.length, 'visit')} for ${amount(total, 'piece')} of work through ${onDay(plan.lastDay)}; ${notMet.length} cannot be met.`,
              ].join('\n'),
        messages: issues.map(({ message }) => message),
      }
    }),
}
