import { lazy, useMemo } from 'react'
import type { GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { ChartKey, ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { type Measures, count, useMeasures } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
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
        {phrase('best weight with its 95 % band')}
      </ChartKey>
      <ChartKey sample={<path d="M0 6h30" stroke="var(--t-ink-2)" strokeWidth="1.4" strokeDasharray="2 3" />}>
        {phrase('what the line reads')}
      </ChartKey>
      <ChartKey
        sample={
          <>
            <rect y="1" width="30" height="10" fill="var(--t-line)" opacity="0.5" />
            <path d="M0 1h30M0 11h30" stroke="var(--t-ink)" strokeDasharray="8 3" />
          </>
        }
      >
        {phrase('tolerance')}
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
          {phrase('forecast of the line, 95 %')}
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
          {phrase('when it changed, 95 %')}
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
      ? phrase('no check weighing has tested it yet')
      : phrase('{checks} check {checks2, plural, one {weighing has} other {weighings have}} tested it', {
          checks: count(checks.length),
          checks2: checks.length,
        })
  return (
    <p className="evidence-words">
      <Phrase
        text="At {fixedPsi} the line of {startedAt} reads {lineLb}; {tested}, and the evidence puts the weight at <strong>{weightLb} {plusMinusFigure}</strong> (95 %).{change}{brokenAt}"
        with={{
          fixedPsi: pressure.text(track.fixedPsi),
          startedAt: times.day(startedAt),
          lineLb: weight.estimate(lineLb),
          tested,
          strong: (words) => <strong>{words}</strong>,
          weightLb: weight.estimate(last.weightLb),
          plusMinusFigure: weight.plusMinusFigure(last.u),
          change:
            change &&
            phrase(' It changed about {at}, {change}.', {
              at: times.day(change.at),
              change: changeSpan(change, measures),
            }),
          brokenAt:
            brokenAt !== null
              ? phrase(' Work on {brokenAt} broke the line: from then on it says nothing.', {
                  brokenAt: times.day(brokenAt),
                })
              : dueOn !== null &&
                phrase(' ± {toleranceLb} is tolerated.', { toleranceLb: weight.estimate(track.toleranceLb) }),
        }}
      />
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
  return (
    happening.what === 'check' &&
    phrase('ticket {ticket}, {scale}', { ticket: happening.check.ticket, scale: happening.check.scale })
  )
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
      label={phrase('Numbers of the track, {name}', { name })}
      title={phrase('Weight at {fixedPsi}, newest first. Tolerance ± {toleranceLb} around the line.', {
        fixedPsi: pressure.text(series.fixedPsi),
        toleranceLb: weight.estimate(series.toleranceLb),
      })}
      rows={series.instants
        .flatMap(({ at, happenings }) => happenings.map((happening) => ({ at, happening })))
        .reverse()}
      keyOf={keyOf}
      columns={[
        [
          phrase('When'),
          ({ at, happening }) => (happening.what === 'forecast' ? times.day : times.moment)(new Date(at).toISOString()),
          'nowrap',
        ],
        [
          phrase('What'),
          ({ happening }) => (
            <>
              {happeningWords(happening)}
              {noteOf(happening, measures) && <span className="quiet">, {noteOf(happening, measures)}</span>}
            </>
          ),
        ],
        [
          phrase('Read, {pressureSymbol}', { pressureSymbol: pressure.symbol }),
          ofCheck(({ psi }) => pressure.figure(psi)),
          'figure',
        ],
        [
          phrase('Ticket, {weightSymbol}', { weightSymbol: weight.symbol }),
          ofCheck(({ weightLb }) => weight.figure(weightLb)),
          'figure',
        ],
        [
          phrase('Stands for, {weightSymbol}', { weightSymbol: weight.symbol }),
          ofCheck(({ atFixedLb }) => weight.estimateFigure(atFixedLb)),
          'figure',
        ],
        [
          phrase('Best weight, 95 %, {weightSymbol}', { weightSymbol: weight.symbol }),
          ({ happening }) =>
            'weightLb' in happening &&
            `${weight.estimateFigure(happening.weightLb)} ${weight.plusMinusFigure(happening.u)}`,
          'figure',
        ],
        [phrase('Line, {weightSymbol}', { weightSymbol: weight.symbol }), ({ happening }) => line(happening), 'figure'],
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
    <Section className="evidence" title={phrase('Track of the line')} level={3}>
      <TrackSentence track={track} dueOn={group.dueOn} />
      <ChartOrTable
        param="track"
        label={phrase('Track as')}
        keys={<TrackKeys series={series} />}
        chart={<TrackChart series={series} name={group.name} />}
        table={<TrackTable series={series} name={group.name} />}
      />
    </Section>
  )
}
