import { SegmentedControl } from '@mantine/core'
import { Suspense, lazy, useMemo } from 'react'
import type { GroupView } from '#core/contracts/unit.ts'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { lineSeries } from './line-series.ts'
import { LineTable } from './line-table.tsx'

// The chart library is large; the sheet's words and numbers need not wait for it.
const LineChart = lazy(() => import('./line-chart.tsx'))

/** A group's lines as a chart or as a table of the same numbers. */
export function LineView({ group }: { group: GroupView }) {
  const { params } = useAddress()
  const series = useMemo(() => lineSeries(group), [group])
  if (!series)
    return (
      <p className="sheet-none">
        No calibration makes a line yet. Weigh the unit empty and loaded on a certified scale and note the pressures at
        the same moment.
      </p>
    )
  const view = params.get('view') === 'table' ? 'table' : 'chart'
  return (
    <div className="line-view">
      <SegmentedControl
        className="line-switch"
        aria-label="Lines as"
        value={view}
        onChange={(value) => changeParams({ view: value === 'table' ? value : null }, { replace: true })}
        data={[
          { value: 'chart', label: 'Chart' },
          { value: 'table', label: 'Table' },
        ]}
        transitionDuration={0}
      />
      {view === 'chart' ? (
        <Suspense fallback={<output className="chart-wait">Drawing…</output>}>
          <LineChart group={group} series={series} />
        </Suspense>
      ) : (
        <LineTable group={group} series={series} />
      )}
    </div>
  )
}
