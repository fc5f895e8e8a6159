import { lazy, useMemo } from 'react'
import type { GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { MarkKey } from '../chart/evidence-marks.tsx'
import '../chart/evidence.css'
import { type Track, type TrackSeries, trackSeries } from './track-series.ts'
import { TrackTable } from './track-table.tsx'
import { changeSpan, markOf } from './track-words.ts'

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
        best weight with its 95 % band
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
      {happenings.some(({ what }) => what === 'change') && (
        <span>
          <Sample>
            <rect
              x="1"
              y="1"
              width="28"
              height="10"
              fill="var(--t-doubtful)"
              fillOpacity="0.2"
              stroke="var(--t-doubtful)"
              strokeDasharray="2 2"
            />
          </Sample>
          when it changed, 95 %
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

const TrackChart = lazy(() => import('./track-chart.tsx'))

/** Where the line stands by the evidence, in one sentence. */
function TrackSentence({ track, dueOn }: { track: Track; dueOn: string | null }) {
  const measures = useMeasures()
  const { weight, pressure, times } = measures
  const life = track.lives.at(-1)
  const last = life?.states.at(-1)
  if (!life || !last) return null
  const { checks, brokenAt, lineLb, startedAt, change } = life
  const tested =
    checks.length === 0
      ? 'no check weighing has tested it yet'
      : `${count(checks.length)} check ${checks.length === 1 ? 'weighing has' : 'weighings have'} tested it`
  return (
    <p className="evidence-words">
      At {pressure.text(track.fixedPsi)} the line of {times.day(startedAt)} reads {weight.estimate(lineLb)}; {tested},
      and the evidence puts the weight at{' '}
      <strong>
        {weight.estimate(last.weightLb)} {weight.plusMinusFigure(last.u)}
      </strong>{' '}
      (95 %).
      {change && ` It changed about ${times.day(change.at)}, ${changeSpan(change, measures)}.`}
      {brokenAt !== null
        ? ` Work on ${times.day(brokenAt)} broke the line: from then on it says nothing.`
        : dueOn !== null && ` ± ${weight.estimate(track.toleranceLb)} is tolerated.`}
    </p>
  )
}

/** How a group's line has held over time, as a chart or as a table. */
export function TrackView({
  group,
  track,
  events,
  asOf,
}: {
  group: GroupView
  track: Track
  events: UnitSheetView['events']
  asOf: string
}) {
  const { zone } = useMeasures().times
  const series = useMemo(() => trackSeries(track, group, events, asOf, zone), [track, group, events, asOf, zone])
  return (
    <section className="evidence" aria-labelledby="track-title">
      <h3 id="track-title">Track of the line</h3>
      <TrackSentence track={track} dueOn={group.dueOn} />
      <ChartOrTable
        param="track"
        label="Track as"
        chart={
          <figure className="chart">
            <TrackKey series={series} />
            <TrackChart series={series} name={group.name} />
          </figure>
        }
        table={<TrackTable series={series} name={group.name} />}
      />
    </section>
  )
}
