import { lazy, useMemo } from 'react'
import type { GroupView, UnitSheetView } from '#core/api/contract.ts'
import { ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, day, useMeasures } from '#renderer/parts/format.ts'
import { TrackKey } from './track-key.tsx'
import { type Track, trackSeries } from './track-series.ts'
import { TrackTable } from './track-table.tsx'
import './evidence.css'

const TrackChart = lazy(() => import('./track-chart.tsx'))

/** Where the line stands by the evidence, in one sentence. */
function TrackSentence({ track, dueOn }: { track: Track; dueOn: string | null }) {
  const { weight, pressure } = useMeasures()
  const life = track.lives.at(-1)
  const last = life?.states.at(-1)
  if (!life || !last) return null
  const { checks, brokenAt, lineLb, startedAt } = life
  const alarmedFrom = life.alarmFrom === null ? undefined : checks[life.alarmFrom]
  const tested =
    checks.length === 0
      ? 'no check weighing has tested it yet'
      : `${count(checks.length)} check ${checks.length === 1 ? 'weighing has' : 'weighings have'} tested it`
  return (
    <p className="evidence-words">
      At {pressure.text(track.fixedPsi)} the line of {day(startedAt)} reads {weight.estimate(lineLb)}; {tested}, and the
      evidence puts the weight at{' '}
      <strong>
        {weight.estimate(last.weightLb)} {weight.plusMinusFigure(last.u)}
      </strong>{' '}
      (95 %).
      {alarmedFrom && ` The checks since ${day(alarmedFrom.at)} lie to one side of it.`}
      {brokenAt !== null
        ? ` Work on ${day(brokenAt)} broke the line: from then on it says nothing.`
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
  const series = useMemo(() => trackSeries(track, group, events, asOf), [track, group, events, asOf])
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
