import { Bar, Legend, XAxis, YAxis } from 'recharts'
import type { BenchCostView } from '#core/contracts/bench.ts'
import { money } from '#core/words/text.ts'
import { count, decimal } from '#renderer/parts/format.ts'
import { Plot, ReadOut, axisStyle } from '#renderer/parts/plot.tsx'
import { phrase } from '#core/words/phrase.ts'

/** Swaps made, deaths suffered and deaths avoided by month. */
export default function CostChart({ months }: Pick<BenchCostView, 'months'>) {
  return (
    <Plot
      name="cost"
      title={phrase('Swaps and deaths by month; the table holds the same numbers.')}
      heightPx={260}
      rows={months}
      upright={false}
    >
      <XAxis {...axisStyle} dataKey="month" />
      <YAxis {...axisStyle} tickFormatter={count} allowDecimals={false} width={44} />
      <Legend
        verticalAlign="top"
        align="left"
        iconType="square"
        wrapperStyle={{ fontSize: 12, paddingBottom: 6 }}
        formatter={(value: string) => <span style={{ color: 'var(--t-ink)' }}>{value}</span>}
      />
      <Bar dataKey="swaps" name={phrase('swaps made')} fill="var(--t-accent)" isAnimationActive={false} />
      <Bar
        dataKey="deathsAvoided"
        name={phrase('deaths avoided (expected)')}
        fill="var(--t-line-strong)"
        isAnimationActive={false}
      />
      <Bar dataKey="deaths" name={phrase('deaths suffered')} fill="var(--t-uncalibrated)" isAnimationActive={false} />
      <ReadOut rows={months} at={({ month }) => month} cursor={{ fill: 'var(--t-sunken)' }}>
        {({ month, swaps, deathsAvoided, deaths, dollars }) => (
          <div className="chart-reading">
            <strong>{month}</strong>
            <div>{phrase('{swaps} swaps', { swaps: count(swaps) })}</div>
            <div>{phrase('{deathsAvoided} deaths avoided', { deathsAvoided: decimal(deathsAvoided) })}</div>
            <div>{phrase('{deaths} deaths', { deaths: count(deaths) })}</div>
            <div>{money(dollars)}</div>
          </div>
        )}
      </ReadOut>
    </Plot>
  )
}
