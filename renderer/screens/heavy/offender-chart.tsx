import { useMemo } from 'react'
import { Scatter, XAxis, YAxis } from 'recharts'
import { count, share } from '#renderer/parts/format.ts'
import { Level, Plot, ReadOut, Spread, axisStyle, labelStyle } from '#renderer/parts/plot.tsx'
import { phrase } from '#core/words/phrase.ts'
import { type Offenders, chartedOffenders } from './heavy-counts.ts'

const rowPx = 26
const axesPx = 64

type Row = Offenders['rows'][number]

const Reading = ({ row }: { row: Row }) => (
  <div className="chart-reading">
    <strong>{row.unit}</strong>
    {row.yard !== null && <span className="quiet">, {row.yard}</span>}
    <div>
      {phrase('{rate}, in 95 of 100 cases {low} to {high}', {
        rate: share(row.rate),
        low: share(row.low),
        high: share(row.high),
      })}
    </div>
    <div className="quiet">
      {phrase('as counted {rate}: {over} of {weighings} weighings over', {
        rate: share(row.counted),
        over: count(row.over),
        weighings: count(row.weighings),
      })}
    </div>
  </div>
)

/** The rates of the units that were over most often by the fair ranking, against the fleet’s own. */
export default function OffenderChart({ offenders: { rows, fleetRate } }: { offenders: Offenders }) {
  const shown = useMemo(() => rows.slice(0, chartedOffenders), [rows])
  const points = useMemo(
    () =>
      shown.map(({ unit, counted, rate, low, high }) => ({
        unit,
        drawn: 100 * rate,
        counted: 100 * counted,
        spread: [100 * (rate - low), 100 * (high - rate)],
      })),
    [shown],
  )
  return (
    <Plot
      name="offenders"
      title={phrase(
        'Rates of the worst offenders. The arrow keys go from unit to unit; the table holds the same numbers.',
      )}
      heightPx={axesPx + rowPx * shown.length}
      rows={points}
      margin={{ top: 20, bottom: 18 }}
      layout="vertical"
    >
      <XAxis
        {...axisStyle}
        type="number"
        domain={[0, 'auto']}
        tickFormatter={(percent: number) => count(percent)}
        label={{ ...labelStyle, value: phrase('Weighings over a limit, %'), position: 'insideBottom', offset: -12 }}
      />
      <YAxis {...axisStyle} type="category" dataKey="unit" width={74} interval={0} padding={{ top: 12, bottom: 12 }} />
      <Level x={100 * fleetRate} text={phrase('fleet {fleetRate}', { fleetRate: share(fleetRate) })} at="top" />
      <Scatter dataKey="counted" shape="diamond" fill="none" stroke="var(--t-ink-2)" isAnimationActive={false} />
      <Scatter dataKey="drawn" fill="var(--t-accent)" isAnimationActive={false}>
        <Spread dataKey="spread" direction="x" width={6} />
      </Scatter>
      <ReadOut rows={shown} at={({ unit }) => unit}>
        {(row) => <Reading row={row} />}
      </ReadOut>
    </Plot>
  )
}
