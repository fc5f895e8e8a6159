import { useMeasures } from '#renderer/parts/format.ts'
import type { Happening, TrackSeries } from './track-series.ts'
import { changeSpan, happeningWords } from './track-words.ts'

function Cells({ happening }: { happening: Happening }) {
  const measures = useMeasures()
  const { weight, pressure } = measures
  const check = happening.what === 'check' ? happening.check : null
  const track = 'weightLb' in happening ? happening : null
  const line = happening.what === 'calibration' || happening.what === 'forecast' ? happening : null
  const note =
    happening.what === 'event'
      ? happening.event.note
      : happening.what === 'change'
        ? changeSpan(happening.change, measures)
        : check && `ticket ${check.ticket}, ${check.scale}`
  return (
    <>
      <td>
        {happeningWords(happening)}
        {note && <span className="quiet">, {note}</span>}
      </td>
      <td className="figure">{check && pressure.figure(check.psi)}</td>
      <td className="figure">{check && weight.figure(check.weightLb)}</td>
      <td className="figure">{check && weight.estimateFigure(check.atFixedLb)}</td>
      <td className="figure">
        {track && (
          <>
            {weight.estimateFigure(track.weightLb)} {weight.plusMinusFigure(track.u)}
          </>
        )}
      </td>
      <td className="figure">
        {line && (
          <>
            {weight.estimateFigure(line.lineLb)}
            {happening.what === 'forecast' && ` ${weight.plusMinusFigure(happening.u)}`}
          </>
        )}
      </td>
    </>
  )
}

/** The track chart's numbers, newest first. */
export function TrackTable({ series, name }: { series: TrackSeries; name: string }) {
  const { weight, pressure, times } = useMeasures()
  const rows = series.instants
    .flatMap(({ at, happenings }) => happenings.map((happening) => ({ at, happening })))
    .reverse()
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="evidence-table" aria-label={`Numbers of the track, ${name}`} tabIndex={0}>
      <table className="sheet-table">
        <caption>
          Weight at {pressure.text(series.fixedPsi)}, newest first. Tolerance ± {weight.estimate(series.toleranceLb)}{' '}
          around the line.
        </caption>
        <thead>
          <tr>
            <th scope="col">When</th>
            <th scope="col">What</th>
            <th scope="col" className="figure">
              Read, {pressure.symbol}
            </th>
            <th scope="col" className="figure">
              Ticket, {weight.symbol}
            </th>
            <th scope="col" className="figure">
              Stands for, {weight.symbol}
            </th>
            <th scope="col" className="figure">
              Best weight, 95 %, {weight.symbol}
            </th>
            <th scope="col" className="figure">
              Line, {weight.symbol}
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map(({ at, happening }) => (
            <tr
              key={`${at} ${happening.what} ${'life' in happening ? happening.life : ''} ${happening.what === 'event' ? happening.event.kind : ''}`}
            >
              <th scope="row" className="nowrap">
                {(happening.what === 'forecast' ? times.day : times.moment)(new Date(at).toISOString())}
              </th>
              <Cells happening={happening} />
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}
