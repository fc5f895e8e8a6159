import { type Quantity, count, useMeasures } from '#renderer/parts/format.ts'
import { multiples, niceStep } from '#renderer/parts/round-steps.ts'
import './feet-scale.css'

type Length = Pick<Quantity, 'shown'>

export interface FeetSpan {
  readonly fromFt: number
  readonly toFt: number
}

/**
 * The stretch of road a ruler shows: its zero and everything known, with room at both ends, from whole foot to whole
 * foot, or from whole meter to whole meter.
 */
export function feetSpan(marksFt: readonly number[], { shown }: Length): FeetSpan {
  const known = [0, ...marksFt].map(shown)
  const unitsPerFt = shown(1)
  const from = Math.floor(Math.min(...known)) - Math.ceil(2 * unitsPerFt)
  const to = Math.ceil(Math.max(...known)) + Math.ceil(3 * unitsPerFt)
  return { fromFt: from / unitsPerFt, toFt: to / unitsPerFt }
}

/** Where a ruler has its ticks, in shown units: at round numbers, those between them shorter. */
export function feetTicks({ fromFt, toFt }: FeetSpan, { shown }: Length) {
  const [from, to] = [shown(fromFt), shown(toFt)]
  const step = niceStep(to - from, 12)
  return { numbered: multiples(from, to, step), all: multiples(from, to, step < 5 ? step / 2 : 1) }
}

/** The scale of a ruler along a road at y: a tick a foot or meter, a number every few. `x` places feet in the drawing. */
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
  const { numbered, all } = feetTicks(span, length)
  const place = (shown: number) => x(shown / length.shown(1))
  return (
    <>
      <path d={`M${x(span.fromFt)} ${y}H${x(span.toFt)}`} stroke="var(--t-line-strong)" />
      {all.map((tick) => (
        <path
          key={tick}
          d={`M${place(tick)} ${y}v${numbered.includes(tick) ? -9 : -4}`}
          stroke="var(--t-line-strong)"
        />
      ))}
      {numbered.map((tick) => (
        <text key={tick} x={place(tick)} y={y - 16} textAnchor="middle" className="ruler-number">
          {tick === 0 ? zero : `${count(tick)} ${length.symbol}`}
        </text>
      ))}
    </>
  )
}
