import { type LineSeries, lineName } from './line-series.ts'
import { useMeasures } from '#renderer/parts/format.ts'

const dashes = ['7 4', '2 3', '10 3 2 3', '1 4', '12 5', '5 2 1 2']

/** The dash that tells an earlier line from the others. */
export const dashOf = (index: number): string => dashes[index % dashes.length] as string

const Sample = ({ children }: { children: React.ReactNode }) => (
  <svg width="30" height="12" aria-hidden="true">
    {children}
  </svg>
)

/** Which stroke is which line. */
export function LineKey({ series }: { series: LineSeries }) {
  const { times } = useMeasures()
  return (
    <figcaption className="chart-key">
      {series.current && (
        <>
          <span>
            <Sample>
              <rect y="1" width="30" height="10" fill="var(--t-accent)" opacity="0.2" />
              <path d="M0 6h30" stroke="var(--t-accent)" strokeWidth="2.4" />
            </Sample>
            in force, {lineName(series, series.current, times)}, with its 95 % band
          </span>
          <span>
            <Sample>
              <path d="M15 1v10M12 1h6M12 11h6M7 6h16M7 3v6M23 3v6" stroke="var(--t-ink)" />
              <circle cx="15" cy="6" r="3" fill="var(--t-surface)" stroke="var(--t-accent)" strokeWidth="2" />
            </Sample>
            ticket, ± 2u
          </span>
        </>
      )}
      {series.earlier.map((line, i) => (
        <span key={line.id}>
          <Sample>
            <path d="M0 6h30" stroke="var(--t-ink-2)" strokeWidth="1.4" strokeDasharray={dashOf(i)} />
          </Sample>
          {lineName(series, line, times)}
        </span>
      ))}
    </figcaption>
  )
}
