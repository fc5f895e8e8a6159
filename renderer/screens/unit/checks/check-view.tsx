import { lazy, useMemo } from 'react'
import { ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, decimal, useMeasures } from '#renderer/parts/format.ts'
import { MarkKey } from '../chart/evidence-marks.tsx'
import '../chart/evidence.css'
import type { Track } from '../track/track-series.ts'
import { type CheckSeries, checkSeries } from './check-series.ts'
import { CheckTable } from './check-table.tsx'

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
          <strong>
            Since {times.day(alarm.from.check.at)} the scale has shown {alarm.side} than the line reads
          </strong>
          : by all that was weighed the line no longer holds.{' '}
        </>
      ) : (
        last && (
          <>
            By all that was weighed the line holds; the sums of misses stand at {decimal(last.cusumHigh)} more and{' '}
            {decimal(last.cusumLow)} less.{' '}
          </>
        )
      )}
      A lone miss fades from the sums; misses to one side add up. By chance they pass {count(cusumLimit)} about once in{' '}
      {roundly(checksToFalseAlarm)} checks of a line that holds.
    </p>
  )
}

/** How the checks of the line in use came out, as a chart or as a table. */
export function CheckView({ track, name, asOf }: { track: Track; name: string; asOf: string }) {
  const series = useMemo(() => checkSeries(track, asOf), [track, asOf])
  return (
    <section className="evidence" aria-labelledby="checks-title">
      <h3 id="checks-title">Check weighings</h3>
      {series ? (
        <>
          <CheckSentence series={series} />
          <ChartOrTable
            param="checks"
            label="Checks as"
            chart={
              <figure className="chart">
                <CheckKey series={series} />
                <CheckChart series={series} toleranceLb={track.toleranceLb} name={name} />
              </figure>
            }
            table={<CheckTable series={series} name={name} />}
          />
        </>
      ) : (
        <p className="sheet-none">None since the calibration. Every ticket that has a reading tests the line.</p>
      )}
    </section>
  )
}
