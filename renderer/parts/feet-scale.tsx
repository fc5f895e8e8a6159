import { useMeasures } from '#renderer/parts/format.ts'
import './feet-scale.css'

export interface FeetSpan {
  readonly fromFt: number
  readonly toFt: number
  readonly stepFt: number
}

/**
 * The stretch of road a ruler shows: its zero and everything known, with room at both ends, from whole foot to whole
 * foot.
 */
export function feetSpan(marksFt: readonly number[]): FeetSpan {
  const known = [0, ...marksFt]
  const fromFt = Math.floor(Math.min(...known)) - 2
  const toFt = Math.ceil(Math.max(...known)) + 3
  return { fromFt, toFt, stepFt: toFt - fromFt > 60 ? 10 : 5 }
}

/** The scale of a ruler along a road at y: a tick a foot, a number every few. `x` places feet in the drawing. */
export function FeetScale({
  span,
  x,
  y,
  zero,
}: {
  span: FeetSpan
  x: (ft: number) => number
  y: number
  zero: string
}) {
  const { length } = useMeasures()
  const feet = Array.from({ length: span.toFt - span.fromFt + 1 }, (_, i) => span.fromFt + i)
  return (
    <>
      <path d={`M${x(span.fromFt)} ${y}H${x(span.toFt)}`} stroke="var(--t-line-strong)" />
      {feet.map((ft) => (
        <path key={ft} d={`M${x(ft)} ${y}v${ft % span.stepFt === 0 ? -9 : -4}`} stroke="var(--t-line-strong)" />
      ))}
      {feet
        .filter((ft) => ft % span.stepFt === 0)
        .map((ft) => (
          <text key={ft} x={x(ft)} y={y - 16} textAnchor="middle" className="ruler-number">
            {ft === 0 ? zero : `${length.shown(ft)} ${length.symbol}`}
          </text>
        ))}
    </>
  )
}
