import { expanded } from '#core/words/coverage.ts'
import './interval-bar.css'

const widthPx = 190
const heightPx = 20
const marginPx = 8

interface IntervalBarProps {
  /** The figure, its standard uncertainty and the tolerance around 0, all in one unit. */
  value: number
  u: number
  tolerance: number
  /** Value at the right end; the left end is its negative. */
  reach: number
  /** The same in words. */
  label: string
}

/**
 * The value at either end of bars that stand under one another: they hold every value with its uncertainty, and twice
 * the tolerance at most.
 */
export function sharedReach(bars: readonly { value: number; u: number; tolerance: number }[]): number {
  return (
    1.08 * Math.max(...bars.map(({ value, u, tolerance }) => Math.max(Math.abs(value) + expanded(u), 1.25 * tolerance)))
  )
}

/** A difference from 0 with its 95 % interval, and the tolerance it is held to. */
export function IntervalBar({ value, u, tolerance, reach, label }: IntervalBarProps) {
  const x = (at: number) => widthPx / 2 + (Math.min(Math.max(at, -reach), reach) / reach) * (widthPx / 2 - marginPx)
  const [left, right, low, high] = [x(-tolerance), x(tolerance), x(value - expanded(u)), x(value + expanded(u))]
  const middle = heightPx / 2
  return (
    <svg
      className="interval-bar"
      viewBox={`0 0 ${widthPx} ${heightPx}`}
      width={widthPx}
      height={heightPx}
      role="img"
      aria-label={label}
    >
      <rect x={left} y={2} width={right - left} height={heightPx - 4} className="interval-tolerance" />
      <path d={`M${left} 1V${heightPx - 1}M${right} 1V${heightPx - 1}`} className="interval-edge" />
      <path d={`M${x(0)} 1V${heightPx - 1}`} className="interval-zero" />
      <path
        d={`M${low} ${middle}H${high}M${low} ${middle - 4}v8M${high} ${middle - 4}v8`}
        className="interval-whisker"
      />
      <circle cx={x(value)} cy={middle} r={3.4} className="interval-value" />
    </svg>
  )
}
