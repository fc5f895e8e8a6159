import type { CheckSeries } from './check-series.ts'
import { CusumChart } from './cusum-chart.tsx'
import { MissChart } from './miss-chart.tsx'

/** The checks of the line in use: each one's miss, and below it whether the misses add up to one side. */
export default function CheckChart({
  series,
  toleranceLb,
  name,
}: {
  series: CheckSeries
  toleranceLb: number
  name: string
}) {
  return (
    <>
      <MissChart series={series} toleranceLb={toleranceLb} name={name} />
      <CusumChart series={series} name={name} />
    </>
  )
}
