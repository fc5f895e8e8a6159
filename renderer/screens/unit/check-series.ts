import { niceStep } from './nice-step.ts'
import { type CheckKind, type CheckView, kindOfCheck, type Track } from './track-series.ts'

/** One check weighing of the line in use. */
export interface CheckPoint {
  readonly at: number
  readonly kind: CheckKind
  readonly check: CheckView
}

export interface CheckSeries {
  readonly points: readonly CheckPoint[]
  readonly from: number
  readonly to: number
  /** Half the height of the chart of misses, and the step of its axis, lb. */
  readonly reachLb: number
  readonly stepLb: number
  readonly cusumLimit: number
  /** Half the height of the chart of sums, standard deviations. */
  readonly cusumReach: number
  readonly checksToFalseAlarm: number
  /** The check from which the present alarm built up, with the side it lies on. */
  readonly alarm: { readonly from: CheckPoint; readonly side: 'more' | 'less' } | null
}

/** A slip's miss would squeeze every other one flat: the chart holds this many tolerances beside the checks that are not slips. */
const mostTolerances = 3

/** What the check chart and its table draw from: the checks of the line in use. Undefined when nothing tested it yet. */
export function checkSeries({ lives, toleranceLb, cusumLimit, checksToFalseAlarm }: Track, asOf: string): CheckSeries | undefined {
  const life = lives.at(-1)
  if (!life || life.checks.length === 0) return undefined
  const { alarmFrom } = life
  const points = life.checks.map((check, i): CheckPoint => ({ at: Date.parse(check.at), check, kind: kindOfCheck(check, alarmFrom !== null && i >= alarmFrom) }))
  const [from, to] = [Date.parse(life.startedAt), Math.min(Date.parse(life.brokenAt ?? asOf), Date.parse(asOf))]
  const room = (to - from) * 0.015
  const reaches = points.filter(({ kind }) => kind !== 'slip').map(({ check }) => Math.abs(check.missLb) + 2 * check.uMissLb)
  const reachLb = Math.min(Math.max(0.5 * toleranceLb, ...reaches), Math.max(mostTolerances * toleranceLb, ...points.filter(({ kind }) => kind === 'alarm').map(({ check }) => 1.2 * Math.abs(check.missLb))))
  const step = niceStep(2 * reachLb, 6)
  const last = points.at(-1)?.check
  const first = alarmFrom === null ? undefined : points[alarmFrom]
  return {
    points, from: from - room, to: to + room, cusumLimit, checksToFalseAlarm,
    reachLb: Math.ceil(reachLb / (step / 2)) * (step / 2), stepLb: step,
    cusumReach: Math.ceil(Math.max(1.25 * cusumLimit, ...points.map(({ check }) => 1.05 * Math.max(check.cusumHigh, check.cusumLow)))),
    alarm: first && last ? { from: first, side: last.cusumHigh >= last.cusumLow ? 'more' : 'less' } : null,
  }
}
