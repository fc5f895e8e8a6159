import { SegmentedControl } from '@mantine/core'
import { type ReactNode, Suspense } from 'react'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import './chart-or-table.css'
import './chart.css'

interface ChartOrTableProps {
  /** Name of the choice in the address. */
  param: string
  /** What is shown, for the switch's name: `Track as`. */
  label: string
  chart: ReactNode
  table: ReactNode
}

/** One thing as a chart or as a table of the same numbers; the choice is in the address. */
export function ChartOrTable({ param, label, chart, table }: ChartOrTableProps) {
  const { params } = useAddress()
  const view = params.get(param) === 'table' ? 'table' : 'chart'
  return (
    <>
      <SegmentedControl
        className="chart-switch"
        aria-label={label}
        value={view}
        onChange={(value) => changeParams({ [param]: value === 'table' ? value : null }, { replace: true })}
        data={[
          { value: 'chart', label: 'Chart' },
          { value: 'table', label: 'Table' },
        ]}
        transitionDuration={0}
      />
      {view === 'chart' ? (
        <Suspense fallback={<output className="chart-drawing">Drawing…</output>}>{chart}</Suspense>
      ) : (
        table
      )}
    </>
  )
}

/** What the charts of all screens share. */
export const axisStyle = {
  tick: { fill: 'var(--t-ink-2)', fontSize: 12 },
  stroke: 'var(--t-line-strong)',
  tickLine: false,
} as const
export const labelStyle = { fill: 'var(--t-ink-2)', fontSize: 12 } as const
export const plotMargin = { top: 8, right: 14, left: 10 } as const
export const weightAxisPx = 74
