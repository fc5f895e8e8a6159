import { expanded } from '#core/words/coverage.ts'
import { niceStep } from '#renderer/parts/round-steps.ts'
import { type CheckKind, type CheckView, type Track, kindOfCheck } from '../track/track-series.ts'

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
  readonly cusumLimit: number
  /** How far the chart of sums reaches to either side, standard deviations. */
  readonly cusumReach: { readonly more: number; readonly less: number }
  readonly checksToFalseAlarm: number
  /** The first check since the line changed, the side it lies on, and when it most likely changed. */
  readonly alarm: { readonly from: CheckPoint; readonly side: 'more' | 'less'; readonly since: string } | null
}

/**
 * A slip's miss would squeeze every other one flat: the chart holds this many tolerances beside the checks that are not
 * slips.
 */
const mostTolerances = 3

/** Far enough for every sum, and for the words beyond the limit. */
const reachOf = (sums: readonly number[], limit: number) =>
  Math.ceil(Math.max(1.6 * limit, ...sums.map((sum) => 1.05 * sum)))

/**
 * What the check chart and its table draw from: the checks of the line in use. Undefined when nothing tested it yet.
 */
export function checkSeries(
  { lives, toleranceLb, cusumLimit, checksToFalseAlarm }: Track,
  asOf: string,
): CheckSeries | undefined {
  const life = lives.at(-1)
  if (!life || life.checks.length === 0) return undefined
  const { alarmFrom } = life
  const points = life.checks.map(
    (check, i): CheckPoint => ({
      at: Date.parse(check.at),
      check,
      kind: kindOfCheck(check, alarmFrom !== null && i >= alarmFrom),
    }),
  )
  const [from, to] = [Date.parse(life.startedAt), Math.min(Date.parse(life.brokenAt ?? asOf), Date.parse(asOf))]
  const room = (to - from) * 0.015
  const reaches = points
    .filter(({ kind }) => kind !== 'slip')
    .map(({ check }) => Math.abs(check.missLb) + expanded(check.uMissLb))
  const reachLb = Math.min(
    Math.max(0.5 * toleranceLb, ...reaches),
    Math.max(
      mostTolerances * toleranceLb,
      ...points.filter(({ kind }) => kind === 'alarm').map(({ check }) => 1.2 * Math.abs(check.missLb)),
    ),
  )
  const step = niceStep(2 * reachLb, 6)
  const last = points.at(-1)?.check
  const first = alarmFrom === null ? undefined : points[alarmFrom]
  return {
    points,
    from: from - room,
    to: to + room,
    cusumLimit,
    checksToFalseAlarm,
    reachLb: Math.ceil(reachLb / (step / 2)) * (step / 2),
    cusumReach: {
      more: reachOf(
        points.map(({ check }) => check.cusumHigh),
        cusumLimit,
      ),
      less: reachOf(
        points.map(({ check }) => check.cusumLow),
        cusumLimit,
      ),
    },
    alarm:
      first && last
        ? { from: first, side: last.offLineLb >= 0 ? 'more' : 'less', since: life.change?.at ?? first.check.at }
        : null,
  }
}
