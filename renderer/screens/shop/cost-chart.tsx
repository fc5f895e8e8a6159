import { Bar, BarChart, CartesianGrid, Legend, ResponsiveContainer, Tooltip, XAxis, YAxis } from 'recharts'
import type { BenchCostView } from '#core/contracts/bench.ts'
import { axisStyle, plotMargin } from '#renderer/parts/chart-or-table.tsx'
import { count, decimal } from '#renderer/parts/format.ts'

type Month = BenchCostView['months'][number]

/** Swaps made, deaths suffered and deaths avoided by month. */
export default function CostChart({ months }: { months: readonly Month[] }) {
  return (
    <div className="chart-plot" data-plot="cost">
      <ResponsiveContainer width="100%" height="100%">
        <BarChart
          data={[...months]}
          margin={plotMargin}
          title="Swaps and deaths by month; the table holds the same numbers."
        >
          <CartesianGrid stroke="var(--t-line)" vertical={false} />
          <XAxis {...axisStyle} dataKey="month" />
          <YAxis {...axisStyle} tickFormatter={count} allowDecimals={false} width={44} />
          <Legend
            verticalAlign="top"
            align="left"
            iconType="square"
            height={26}
            wrapperStyle={{ fontSize: 12 }}
            formatter={(value: string) => <span style={{ color: 'var(--t-ink)' }}>{value}</span>}
          />
          <Bar dataKey="swaps" name="swaps made" fill="var(--t-accent)" isAnimationActive={false} />
          <Bar
            dataKey="deathsAvoided"
            name="deaths avoided (expected)"
            fill="var(--t-line-strong)"
            isAnimationActive={false}
          />
          <Bar dataKey="deaths" name="deaths suffered" fill="var(--t-uncalibrated)" isAnimationActive={false} />
          <Tooltip
            cursor={{ fill: 'var(--t-sunken)' }}
            isAnimationActive={false}
            content={({ active, label }) => {
              const month = active ? months.find((each) => each.month === label) : undefined
              return month ? (
                <div className="chart-reading">
                  <strong>{month.month}</strong>
                  <div>{count(month.swaps)} swaps</div>
                  <div>{decimal(month.deathsAvoided)} deaths avoided</div>
                  <div>{count(month.deaths)} deaths</div>
                </div>
              ) : null
            }}
          />
        </BarChart>
      </ResponsiveContainer>
    </div>
  )
}
