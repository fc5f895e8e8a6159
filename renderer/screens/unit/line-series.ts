import type { CalibrationView, GroupView } from '#core/api/contract.ts'
import { type Estimate, predictWeight } from '#core/line/predict.ts'

type Drawable = CalibrationView & { line: NonNullable<CalibrationView['line']> }

export interface LineSample {
  readonly psi: number
  /** Weight ± of the line in force; absent when there is none. */
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

/** What the chart and its table draw from: the same lines, the same stretch of pressures. Undefined when no line exists. */
export function lineSeries(group: GroupView): LineSeries | undefined {
  const lines = group.calibrations.filter(hasLine).sort((a, b) => b.calibratedAt.localeCompare(a.calibratedAt))
  if (lines.length === 0) return undefined
  const points = lines.flatMap(({ points: own }) => own)
  const pressures = [...points.map(({ psi }) => psi), ...(group.targetPsi ? [group.targetPsi.value] : [])]
  return {
    current: lines.find(({ current }) => current) ?? null,
    earlier: lines.filter(({ current }) => !current),
    fromPsi: Math.max(0, Math.floor(Math.min(...pressures) / 10) * 10 - 5),
    toPsi: Math.ceil((Math.max(...pressures) + 3) / 5) * 5,
    topLb: Math.ceil((Math.max(group.limitLb, ...points.map(({ weightLb }) => weightLb)) * 1.1) / 5000) * 5000,
  }
}

/** The lines at one pressure. */
export const sampleAt = ({ current, earlier }: LineSeries, psi: number): LineSample => ({
  psi,
  current: current ? predictWeight(current.line, psi) : null,
  earlier: earlier.map(({ line }) => predictWeight(line, psi).value),
})

/** The lines at every whole step of pressure in the chart's stretch. */
export const sampleEvery = (series: LineSeries, stepPsi: number): LineSample[] =>
  Array.from({ length: Math.floor((series.toPsi - series.fromPsi) / stepPsi) + 1 }, (_, i) => sampleAt(series, series.fromPsi + i * stepPsi))

/** How far a point lies from the line in force, lb. */
export const residualLb = ({ current }: LineSeries, { psi, weightLb }: { psi: number; weightLb: number }): number | null =>
  current ? weightLb - predictWeight(current.line, psi).value : null
