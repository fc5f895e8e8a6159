import type { ComponentProps, ReactNode } from 'react'
import {
  Area,
  CartesianGrid,
  ComposedChart,
  ErrorBar,
  Line,
  ReferenceLine,
  type ReferenceLineProps,
  ResponsiveContainer,
  Tooltip,
  YAxis,
  type YAxisProps,
} from 'recharts'

export const axisStyle = {
  tick: { fill: 'var(--t-ink-2)', fontSize: 12 },
  stroke: 'var(--t-line-strong)',
  tickLine: false,
} as const
export const labelStyle = { fill: 'var(--t-ink-2)', fontSize: 12 } as const
const markStyle = { fill: 'var(--t-ink)', fontSize: 12 } as const

interface PlotProps {
  readonly name: string
  /** What it shows and how it is read, for those who do not see it. */
  readonly title: string
  readonly heightPx: number
  readonly rows: readonly object[]
  /** Room around the axes, where more is needed than usual. */
  readonly margin?: { readonly top?: number; readonly bottom?: number }
  /** Plots of one name are read at the same place, the first of them by the arrow keys. */
  readonly sync?: string
  readonly byKeys?: boolean
  readonly layout?: 'horizontal' | 'vertical'
  /** Whether lines stand at the ticks of the horizontal axis. */
  readonly upright?: boolean
  readonly children: ReactNode
}

/** The frame of a chart with its grid; axes and what is drawn stand inside. */
export function Plot({
  name,
  title,
  heightPx,
  rows,
  margin,
  sync,
  byKeys = true,
  layout = 'horizontal',
  upright = true,
  children,
}: PlotProps) {
  return (
    <div className="chart-plot" data-plot={name} style={{ height: heightPx }}>
      <ResponsiveContainer width="100%" height="100%">
        <ComposedChart
          data={rows}
          layout={layout}
          margin={{ top: 8, right: 14, left: 10, ...margin }}
          {...(sync === undefined ? {} : { syncId: sync, syncMethod: 'value' })}
          accessibilityLayer={byKeys}
          title={title}
        >
          <CartesianGrid stroke="var(--t-line)" vertical={upright} />
          {children}
        </ComposedChart>
      </ResponsiveContainer>
    </div>
  )
}

/** The vertical axis of a quantity, its name written along it. */
export const QuantityAxis = ({ name, ...axis }: Omit<YAxisProps, 'name'> & { readonly name: string }) => (
  <YAxis
    {...axisStyle}
    type="number"
    width={74}
    label={{ ...labelStyle, value: name, angle: -90, position: 'insideLeft', textAnchor: 'middle' }}
    {...axis}
  />
)

type LevelProps = ReferenceLineProps & {
  readonly text?: string | undefined
  readonly at?: 'insideTopLeft' | 'insideTopRight' | 'insideBottomLeft' | 'insideBottomRight' | 'top'
  readonly offset?: number
}

/** A straight line that means something, such as a limit, with its words. */
export const Level = ({ text, at = 'insideTopLeft', offset = 5, ...line }: LevelProps) => (
  <ReferenceLine
    stroke="var(--t-ink)"
    strokeDasharray="8 3"
    {...(text === undefined ? {} : { label: { ...markStyle, value: text, position: at, offset, angle: 0 } })}
    {...line}
  />
)

/** The two levels that something may lie between. */
export const Tolerance = ({ reach, text }: { readonly reach: number; readonly text: string }) =>
  [1, -1].map((side) => <Level key={side} y={side * reach} text={side === 1 ? text : undefined} />)

/** A curve without marks of its own. */
export const Curve = (curve: ComponentProps<typeof Line>) => (
  <Line stroke="var(--t-accent)" strokeWidth={2.4} dot={false} activeDot={false} isAnimationActive={false} {...curve} />
)

/** What a curve may lie within. */
export const Band = (band: ComponentProps<typeof Area>) => (
  <Area stroke="none" fill="var(--t-accent)" fillOpacity={0.25} activeDot={false} isAnimationActive={false} {...band} />
)

interface ReadOutProps<Row> {
  readonly rows: readonly Row[]
  /** Where a row stands on the axis that is walked along. */
  readonly at: (row: Row) => string | number
  readonly cursor?: object
  /** What is said of a row. */
  readonly children: (row: Row) => ReactNode
}

const cursorLine = { stroke: 'var(--t-ink-2)' }

/** What the pointer or the arrow keys have reached. */
export const ReadOut = <Row,>({ rows, at, cursor = cursorLine, children }: ReadOutProps<Row>) => (
  <Tooltip
    cursor={cursor}
    isAnimationActive={false}
    content={({ active, label }) => {
      const row = active ? rows.find((each) => at(each) === label) : undefined
      return row === undefined ? null : children(row)
    }}
  />
)

/** Moves with the plot that it is read together with, and says nothing itself. */
export const ReadAlong = () => <Tooltip cursor={cursorLine} isAnimationActive={false} content={() => null} />

/** How far points may lie off. */
export const Spread = (spread: Pick<ComponentProps<typeof ErrorBar>, 'dataKey' | 'direction' | 'width'>) => (
  <ErrorBar stroke="var(--t-ink)" strokeWidth={1.2} isAnimationActive={false} {...spread} />
)
