import { MarkKey } from './evidence-marks.tsx'
import type { CheckSeries } from './check-series.ts'

const Sample = ({ children }: { children: React.ReactNode }) => (
  <svg width="30" height="12" aria-hidden="true">
    {children}
  </svg>
)

/** Which shape and which stroke is what. */
export function CheckKey({ series: { points } }: { series: CheckSeries }) {
  const kinds = new Set(points.map(({ kind }) => kind))
  return (
    <figcaption className="chart-key">
      {(['check', 'alarm', 'missed', 'slip'] as const)
        .filter((kind) => kinds.has(kind))
        .map((kind) => (
          <MarkKey key={kind} mark={kind} />
        ))}
      <span>
        <Sample>
          <path d="M15 1v10M12 1h6M12 11h6" stroke="var(--t-ink)" fill="none" />
        </Sample>
        ± 2u
      </span>
      <span>
        <Sample>
          <path d="M0 6h30" stroke="var(--t-accent)" strokeWidth="2" />
        </Sample>
        sum of misses, more
      </span>
      <span>
        <Sample>
          <path d="M0 6h30" stroke="var(--t-accent)" strokeWidth="2" strokeDasharray="6 3" />
        </Sample>
        sum of misses, less
      </span>
    </figcaption>
  )
}
