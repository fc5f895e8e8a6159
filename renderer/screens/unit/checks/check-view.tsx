import { lazy, useMemo } from 'react'
import { ChartKey, ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, decimal, useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/links.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { MarkKeys, markWords } from '../chart/evidence-marks.tsx'
import '../chart/evidence.css'
import type { Track } from '../track/track-series.ts'
import { slipWord } from '../track/track-words.ts'
import { type CheckSeries, checkSeries } from './check-series.ts'

/** Which shape and which stroke is what. */
const CheckKeys = ({ series: { points } }: { series: CheckSeries }) => (
  <>
    <MarkKeys marks={['check', 'alarm', 'missed', 'slip']} drawn={new Set(points.map(({ kind }) => kind))} />
    <ChartKey sample={<path d="M15 1v10M12 1h6M12 11h6" stroke="var(--t-ink)" fill="none" />}>± 2u</ChartKey>
    <ChartKey sample={<path d="M0 6h30" stroke="var(--t-accent)" strokeWidth="2" />}>
      {phrase('sum of misses, more')}
    </ChartKey>
    <ChartKey sample={<path d="M0 6h30" stroke="var(--t-accent)" strokeWidth="2" strokeDasharray="6 3" />}>
      {phrase('sum of misses, less')}
    </ChartKey>
  </>
)

const CheckChart = lazy(() => import('./check-chart.tsx'))

/** Two digits: an average run length is known no better. */
const roundly = (checks: number) => count(Number(checks.toPrecision(2)))

function CheckSentence({ series: { alarm, points, cusumLimit, checksToFalseAlarm } }: { series: CheckSeries }) {
  const { times } = useMeasures()
  const last = points.at(-1)?.check
  return (
    <p className="evidence-words">
      {alarm ? (
        <>
          <Phrase
            text="<strong>Since about {since} the scale has shown {side} than the line reads</strong>: by all that was weighed the line no longer holds."
            with={{
              strong: (words) => <strong>{words}</strong>,
              since: times.day(alarm.since),
              side: word(alarm.side),
            }}
          />{' '}
        </>
      ) : (
        last &&
        phrase(
          'By all that was weighed the line holds; the sums of misses stand at {cusumHigh} more and {cusumLow} less. ',
          { cusumHigh: decimal(last.cusumHigh), cusumLow: decimal(last.cusumLow) },
        )
      )}
      {phrase(
        'A lone miss fades; misses to one side add up. By chance they pass {cusumLimit} about once in {checksToFalseAlarm} checks of a line that holds.',
        { cusumLimit: count(cusumLimit), checksToFalseAlarm: roundly(checksToFalseAlarm) },
      )}
    </p>
  )
}

/** The check chart's numbers, newest first. */
function CheckTable({ series, name }: { series: CheckSeries; name: string }) {
  const { weight, pressure, times } = useMeasures()
  return (
    <SheetTable
      frame="evidence-table"
      label={phrase('Numbers of the checks, {name}', { name })}
      title={phrase('Check weighings of the line in use, newest first. Limit of the sums {cusumLimit}.', {
        cusumLimit: decimal(series.cusumLimit),
      })}
      rows={series.points.toReversed()}
      keyOf={({ check }) => `${check.at} ${check.ticket}`}
      columns={[
        [phrase('Weighed'), ({ check }) => times.moment(check.at), 'nowrap'],
        [phrase('Ticket'), ({ check }) => <TicketLink id={check.ticketId} number={check.ticket} scale={check.scale} />],
        [
          phrase('What'),
          ({ kind, check: { slip } }) => (slip ? `${markWords[kind]}: ${slipWord(slip)}` : markWords[kind]),
        ],
        [
          phrase('Read, {pressureSymbol}', { pressureSymbol: pressure.symbol }),
          ({ check }) => pressure.figure(check.psi),
          'figure',
        ],
        [
          phrase('Ticket, {weightSymbol}', { weightSymbol: weight.symbol }),
          ({ check }) => weight.figure(check.weightLb),
          'figure',
        ],
        [
          phrase('Miss, 95 %, {weightSymbol}', { weightSymbol: weight.symbol }),
          ({ check }) => `${weight.difference(check.missLb)} ${weight.plusMinusFigure(check.uMissLb)}`,
          'figure',
        ],
        [phrase('Miss over u'), ({ check }) => decimal(check.z), 'figure'],
        [phrase('Sum, more'), ({ check }) => decimal(check.cusumHigh), 'figure'],
        [phrase('Sum, less'), ({ check }) => decimal(check.cusumLow), 'figure'],
      ]}
    />
  )
}

/** How the checks of the line in use came out, as a chart or as a table. */
export function CheckView({ track, name, asOf }: { track: Track; name: string; asOf: string }) {
  const series = useMemo(() => checkSeries(track, asOf), [track, asOf])
  return (
    <Section className="evidence" title={phrase('Check weighings')} level={3}>
      {series ? (
        <>
          <CheckSentence series={series} />
          <ChartOrTable
            param="checks"
            label={phrase('Checks as')}
            keys={<CheckKeys series={series} />}
            chart={<CheckChart series={series} toleranceLb={track.toleranceLb} name={name} />}
            table={<CheckTable series={series} name={name} />}
          />
        </>
      ) : (
        <p className="sheet-none">
          {phrase('None since the calibration. Every ticket that has a reading tests the line.')}
        </p>
      )}
    </Section>
  )
}
