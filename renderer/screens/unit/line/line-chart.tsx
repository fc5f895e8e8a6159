import type { GroupView } from '#core/contracts/unit.ts'
import '#renderer/parts/chart.css'
import { DifferenceChart } from './difference-chart.tsx'
import './line-chart.css'
import { LineKey } from './line-key.tsx'
import type { LineSeries } from './line-series.ts'
import { WeightChart } from './weight-chart.tsx'

/** The group's calibration lines: weight over pressure, and below it how far apart the lines are. */
export default function LineChart({ group, series }: { group: GroupView; series: LineSeries }) {
  const { current } = series
  return (
    <figure className="chart">
      <LineKey series={series} />
      <WeightChart group={group} series={series} />
      {current && <DifferenceChart group={group} series={{ ...series, current }} />}
    </figure>
  )
}
