import { expanded } from '#core/words/coverage.ts'
import type { CalibrationView, GroupView } from '#core/contracts/unit.ts'
import { type Estimate, predictWeight } from '#core/line/predict.ts'
import type { Times } from '#renderer/parts/times.ts'

type Drawable = CalibrationView & { line: NonNullable<CalibrationView['line']> }
type LinePoint = CalibrationView['points'][number]

export interface LineSample {
  readonly psi: number
  /** Weight and standard uncertainty by the line in force; null when there is none. */
  readonly current: Estimate | null
  /** Weight by each earlier line, in the order of `earlier`, lb. */
  readonly earlier: readonly number[]
}

export interface LineSeries {
  readonly current: Drawable | null
  /** Earlier lines, newest first. */
  readonly earlier: readonly Drawable[]
  readonly fromPsi: number
  readonly toPsi: number
  readonly topLb: number
}

const hasLine = (calibration: CalibrationView): calibration is Drawable => calibration.line !== null

/**
 * What the charts and their table draw from: the same lines, the same stretch of pressures. Undefined when no line
 * exists.
 */
export function lineSeries(group: GroupView): LineSeries | undefined {
  const lines = group.calibrations.filter(hasLine).sort((a, b) => b.calibratedAt.localeCompare(a.calibratedAt))
  if (lines.length === 0) return undefined
  const points = lines.flatMap(({ points: own }) => own)
  const pressures = [...points.map(({ psi }) => psi), ...(group.limitPsi ? [group.limitPsi.value] : [])]
  return {
    current: lines.find(({ current }) => current) ?? null,
    earlier: lines.filter(({ current }) => !current),
    fromPsi: Math.max(0, Math.floor((Math.min(...pressures) - 4) / 10) * 10),
    toPsi: Math.ceil((Math.max(...pressures) + 2) / 10) * 10,
    topLb: Math.ceil((Math.max(group.limitLb, ...points.map(({ weightLb }) => weightLb)) * 1.1) / 10000) * 10000,
  }
}

/** What a line is called on the sheet: its day, with the time where two were made on one day. */
export function lineName(
  { current, earlier }: LineSeries,
  { calibratedAt }: Pick<CalibrationView, 'calibratedAt'>,
  times: Times,
): string {
  const sameDay = [current, ...earlier].filter(
    (line) => line && times.day(line.calibratedAt) === times.day(calibratedAt),
  )
  return sameDay.length > 1 ? times.moment(calibratedAt) : times.day(calibratedAt)
}

const dashes = ['7 4', '2 3', '10 3 2 3', '1 4', '12 5', '5 2 1 2']

/** The dash that tells an earlier line from the others. */
export const dashOf = (index: number): string => dashes[index % dashes.length] as string

/** The lines at one pressure. */
export const sampleAt = ({ current, earlier }: LineSeries, psi: number): LineSample => ({
  psi,
  current: current ? predictWeight(current.line, psi) : null,
  earlier: earlier.map(({ line }) => predictWeight(line, psi).value),
})

/** The lines at every whole step of pressure in the charts' stretch. */
export const sampleEvery = (series: LineSeries, stepPsi: number): LineSample[] =>
  Array.from({ length: Math.floor((series.toPsi - series.fromPsi) / stepPsi) + 1 }, (_, i) =>
    sampleAt(series, series.fromPsi + i * stepPsi),
  )

/** How far a point lies above the line in force, with the standard uncertainty of the point across the line, lb. */
export function residual({ current }: { current: Drawable }, { psi, uPsi, weightLb, uLb }: LinePoint): Estimate {
  return { value: weightLb - predictWeight(current.line, psi).value, u: Math.hypot(uLb, current.line.b * uPsi) }
}

/**
 * Half the height of the difference chart, lb: it holds the tolerance, the points and the earlier lines between the
 * loads that were weighed.
 */
export function differenceReachLb(series: LineSeries & { current: Drawable }, toleranceLb: number): number {
  const weighed = series.current.points.map(({ psi }) => psi)
  const earlier = [Math.min(...weighed), Math.max(...weighed)].flatMap((psi) => {
    const sample = sampleAt(series, psi)
    return sample.earlier.map((weightLb) => Math.abs(weightLb - (sample.current?.value ?? 0)))
  })
  const points = series.current.points.map((point) => {
    const { value, u } = residual(series, point)
    return Math.abs(value) + expanded(u)
  })
  const reach = Math.max(toleranceLb * 1.1, ...points, ...earlier)
  const step = reach > 4000 ? 1000 : 200
  return Math.ceil(reach / step) * step
}
