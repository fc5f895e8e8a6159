import { lazy, useMemo } from 'react'
import type { GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { ChartKey, ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { type Measures, count, useMeasures } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { MarkKeys } from '../chart/evidence-marks.tsx'
import '../chart/evidence.css'
import { type CheckView, type Happening, type Track, type TrackSeries, trackSeries } from './track-series.ts'
import { changeSpan, happeningWords, markOf } from './track-words.ts'

/** Which stroke and which shape is what; only what the chart shows. */
function TrackKeys({ series: { instants } }: { series: TrackSeries }) {
  const happenings = instants.flatMap((instant) => instant.happenings)
  return (
    <>
      <ChartKey
        sample={
          <>
            <rect y="1" width="30" height="10" fill="var(--t-accent)" opacity="0.25" />
            <path d="M0 6h30" stroke="var(--t-accent)" strokeWidth="2.4" />
          </>
        }
      >
        best weight with its 95 % band
      </ChartKey>
      <ChartKey sample={<path d="M0 6h30" stroke="var(--t-ink-2)" strokeWidth="1.4" strokeDasharray="2 3" />}>
        what the line reads
      </ChartKey>
      <ChartKey
        sample={
          <>
            <rect y="1" width="30" height="10" fill="var(--t-line)" opacity="0.5" />
            <path d="M0 1h30M0 11h30" stroke="var(--t-ink)" strokeDasharray="8 3" />
          </>
        }
      >
        tolerance
      </ChartKey>
      {happenings.some(({ what }) => what === 'forecast') && (
        <ChartKey
          sample={
            <path
              d="M0 4C12 3 20 2 30 0M0 8C12 9 20 10 30 12"
              fill="none"
              stroke="var(--t-accent)"
              strokeDasharray="3 3"
            />
          }
        >
          forecast of the line, 95 %
        </ChartKey>
      )}
      {happenings.some(({ what }) => what === 'change') && (
        <ChartKey
          sample={
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
          }
        >
          when it changed, 95 %
        </ChartKey>
      )}
      <MarkKeys
        marks={['calibration', 'check', 'alarm', 'missed', 'slip', 'event', 'break']}
        drawn={new Set(happenings.map(markOf))}
      />
    </>
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

interface Row {
  readonly at: number
  readonly happening: Happening
}

const noteOf = (happening: Happening, measures: Measures) => {
  if (happening.what === 'event') return happening.event.note
  if (happening.what === 'change') return changeSpan(happening.change, measures)
  return happening.what === 'check' && `ticket ${happening.check.ticket}, ${happening.check.scale}`
}
const ofCheck =
  (write: (check: CheckView) => string) =>
  ({ happening }: Row) =>
    happening.what === 'check' && write(happening.check)
const keyOf = ({ at, happening }: Row) =>
  [
    at,
    happening.what,
    'life' in happening ? happening.life : '',
    happening.what === 'event' ? happening.event.kind : '',
  ].join(' ')

/** The track chart's numbers, newest first. */
function TrackTable({ series, name }: { series: TrackSeries; name: string }) {
  const measures = useMeasures()
  const { weight, pressure, times } = measures
  const line = (happening: Happening) => {
    if (happening.what === 'calibration') return weight.estimateFigure(happening.lineLb)
    if (happening.what !== 'forecast') return ''
    return `${weight.estimateFigure(happening.lineLb)} ${weight.plusMinusFigure(happening.u)}`
  }
  return (
    <SheetTable
      frame="evidence-table"
      label={`Numbers of the track, ${name}`}
      title={
        `Weight at ${pressure.text(series.fixedPsi)}, newest first. ` +
        `Tolerance ± ${weight.estimate(series.toleranceLb)} around the line.`
      }
      rows={series.instants
        .flatMap(({ at, happenings }) => happenings.map((happening) => ({ at, happening })))
        .reverse()}
      keyOf={keyOf}
      columns={[
        [
          'When',
          ({ at, happening }) => (happening.what === 'forecast' ? times.day : times.moment)(new Date(at).toISOString()),
          'nowrap',
        ],
        [
          'What',
          ({ happening }) => (
            <>
              {happeningWords(happening)}
              {noteOf(happening, measures) && <span className="quiet">, {noteOf(happening, measures)}</span>}
            </>
          ),
        ],
        [`Read, ${pressure.symbol}`, ofCheck(({ psi }) => pressure.figure(psi)), 'figure'],
        [`Ticket, ${weight.symbol}`, ofCheck(({ weightLb }) => weight.figure(weightLb)), 'figure'],
        [`Stands for, ${weight.symbol}`, ofCheck(({ atFixedLb }) => weight.estimateFigure(atFixedLb)), 'figure'],
        [
          `Best weight, 95 %, ${weight.symbol}`,
          ({ happening }) =>
            'weightLb' in happening &&
            `${weight.estimateFigure(happening.weightLb)} ${weight.plusMinusFigure(happening.u)}`,
          'figure',
        ],
        [`Line, ${weight.symbol}`, ({ happening }) => line(happening), 'figure'],
      ]}
    />
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
    <Section className="evidence" title="Track of the line" level={3}>
      <TrackSentence track={track} dueOn={group.dueOn} />
      <ChartOrTable
        param="track"
        label="Track as"
        keys={<TrackKeys series={series} />}
        chart={<TrackChart series={series} name={group.name} />}
        table={<TrackTable series={series} name={group.name} />}
      />
    </Section>
  )
}
