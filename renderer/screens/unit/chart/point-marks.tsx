import { DefaultZIndexes, ZIndexLayer, usePlotArea, useXAxisScale, useYAxisScale } from 'recharts'

export interface PointMark {
  readonly x: number
  readonly y: number
  /** Half lengths of the error bars, in the axes' units; an x of 0 has none. */
  readonly xError: number
  readonly yError: number
}

const serifPx = 3

/**
 * Points with their error bars, in the axes' units. They are no series of the chart: a series with data of its own
 * would take the arrow keys from the lines.
 */
export function PointMarks({ points }: { points: readonly PointMark[] }) {
  const xScale = useXAxisScale()
  const yScale = useYAxisScale()
  const plot = usePlotArea()
  if (!xScale || !yScale || !plot) return null
  const at = (scale: typeof xScale, value: number) => scale(value) ?? 0
  const held = (y: number) => Math.min(Math.max(y, plot.y), plot.y + plot.height)
  return (
    <ZIndexLayer zIndex={DefaultZIndexes.scatter}>
      {points.map(({ x, y, xError, yError }) => {
        const [cx, cy] = [at(xScale, x), held(at(yScale, y))]
        const [left, right] = [at(xScale, x - xError), at(xScale, x + xError)]
        const [top, bottom] = [held(at(yScale, y + yError)), held(at(yScale, y - yError))]
        const across = (y0: number) => `M${cx - serifPx} ${y0}h${2 * serifPx}`
        const upright = (x0: number) => `M${x0} ${cy - serifPx}v${2 * serifPx}`
        return (
          <g key={`${x} ${y}`} className="point-mark">
            <path
              d={`M${cx} ${top}V${bottom}${across(top)}${across(bottom)}`}
              stroke="var(--t-ink)"
              strokeWidth="1.2"
            />
            {xError > 0 && (
              <path
                d={`M${left} ${cy}H${right}${upright(left)}${upright(right)}`}
                stroke="var(--t-ink)"
                strokeWidth="1.2"
              />
            )}
            <circle cx={cx} cy={cy} r="4" fill="var(--t-surface)" stroke="var(--t-accent)" strokeWidth="2" />
          </g>
        )
      })}
    </ZIndexLayer>
  )
}
