import { SegmentedControl } from '@mantine/core'
import { type ReactNode, Suspense } from 'react'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { phrase } from '#core/words/phrase.ts'
import './chart.css'

interface ChartOrTableProps {
  /** Name of the choice in the address. */
  readonly param: string
  /** What is shown, for the switch's name: `Track as`. */
  readonly label: string
  /** Tells the strokes and shapes of the chart apart. */
  readonly keys?: ReactNode
  readonly chart: ReactNode
  readonly table: ReactNode
}

/** One thing as a chart or as a table of the same numbers; the choice is in the address. */
export function ChartOrTable({ param, label, keys, chart, table }: ChartOrTableProps) {
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
          { value: 'chart', label: phrase('Chart') },
          { value: 'table', label: phrase('Table') },
        ]}
      />
      {view === 'chart' ? (
        <Suspense fallback={<output className="chart-drawing">{phrase('Drawing…')}</output>}>
          <figure className="chart">
            {keys && <figcaption className="chart-key">{keys}</figcaption>}
            {chart}
          </figure>
        </Suspense>
      ) : (
        table
      )}
    </>
  )
}

/** What a stroke or shape of a chart stands for. */
export const ChartKey = ({
  sample,
  widthPx = 30,
  children,
}: {
  readonly sample: ReactNode
  readonly widthPx?: number
  readonly children: ReactNode
}) => (
  <span>
    <svg width={widthPx} height="12" aria-hidden="true">
      {sample}
    </svg>
    {children}
  </span>
)
