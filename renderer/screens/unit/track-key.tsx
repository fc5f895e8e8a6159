import { MarkKey } from './evidence-marks.tsx'
import type { TrackSeries } from './track-series.ts'
import { markOf } from './track-words.ts'

const Sample = ({ children }: { children: React.ReactNode }) => (
  <svg width="30" height="12" aria-hidden="true">
    {children}
  </svg>
)

/** Which stroke and which shape is what; only what the chart shows. */
export function TrackKey({ series: { instants } }: { series: TrackSeries }) {
  const happenings = instants.flatMap((instant) => instant.happenings)
  const marks = new Set(happenings.map(markOf))
  return (
    <figcaption className="chart-key">
      <span>
        <Sample>
          <rect y="1" width="30" height="10" fill="var(--t-accent)" opacity="0.25" />
          <path d="M0 6h30" stroke="var(--t-accent)" strokeWidth="2.4" />
        </Sample>
        track with its 95 % band
      </span>
      <span>
        <Sample>
          <path d="M0 6h30" stroke="var(--t-ink-2)" strokeWidth="1.4" strokeDasharray="2 3" />
        </Sample>
        what the line reads
      </span>
      <span>
        <Sample>
          <rect y="1" width="30" height="10" fill="var(--t-line)" opacity="0.5" />
          <path d="M0 1h30M0 11h30" stroke="var(--t-ink)" strokeDasharray="8 3" />
        </Sample>
        tolerance
      </span>
      {happenings.some(({ what }) => what === 'forecast') && (
        <span>
          <Sample>
            <path
              d="M0 4C12 3 20 2 30 0M0 8C12 9 20 10 30 12"
              fill="none"
              stroke="var(--t-accent)"
              strokeDasharray="3 3"
            />
          </Sample>
          forecast of the line, 95 %
        </span>
      )}
      {(['calibration', 'check', 'alarm', 'missed', 'slip', 'event', 'break'] as const)
        .filter((mark) => marks.has(mark))
        .map((mark) => (
          <MarkKey key={mark} mark={mark} />
        ))}
    </figcaption>
  )
}
