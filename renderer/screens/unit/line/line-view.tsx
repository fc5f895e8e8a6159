import { lazy, useMemo } from 'react'
import type { GroupView } from '#core/contracts/unit.ts'
import { ChartKey, ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/links.tsx'
import { Scrolls, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import { type LineSeries, dashOf, lineName, lineSeries, residual, sampleEvery } from './line-series.ts'

// The chart library is large; the sheet's words and numbers need not wait for it.
const LineChart = lazy(() => import('./line-chart.tsx'))

/** Which stroke is which line. */
function LineKeys({ series }: { series: LineSeries }) {
  const { times } = useMeasures()
  return (
    <>
      {series.current && (
        <>
          <ChartKey
            sample={
              <>
                <rect y="1" width="30" height="10" fill="var(--t-accent)" opacity="0.2" />
                <path d="M0 6h30" stroke="var(--t-accent)" strokeWidth="2.4" />
              </>
            }
          >
            {phrase('in force, {series}, with its 95 % band', { series: lineName(series, series.current, times) })}
          </ChartKey>
          <ChartKey
            sample={
              <>
                <path d="M15 1v10M12 1h6M12 11h6M7 6h16M7 3v6M23 3v6" stroke="var(--t-ink)" />
                <circle cx="15" cy="6" r="3" fill="var(--t-surface)" stroke="var(--t-accent)" strokeWidth="2" />
              </>
            }
          >
            {phrase('ticket, ± 2u')}
          </ChartKey>
        </>
      )}
      {series.earlier.map((line, i) => (
        <ChartKey
          key={line.id}
          sample={<path d="M0 6h30" stroke="var(--t-ink-2)" strokeWidth="1.4" strokeDasharray={dashOf(i)} />}
        >
          {lineName(series, line, times)}
        </ChartKey>
      ))}
    </>
  )
}

/** The chart's numbers as two tables: the lines every five psi, and the tickets of the line in force. */
function LineTable({ group, series }: { group: GroupView; series: LineSeries }) {
  const { pressure, weight, times } = useMeasures()
  const { current } = series
  const tens = (lb: number) => weight.figure(Math.round(lb / 10) * 10)
  return (
    <Scrolls className="line-tables" label={phrase('Numbers of the chart, {name}', { name: group.name })}>
      <SheetTable
        title={
          <>
            {phrase('Weight at a pressure. Limit {limitLb}', { limitLb: weight.text(group.limitLb) })}
            {group.limitPsi &&
              phrase(', reached at {value} {plusMinusFigure} (95 %)', {
                value: pressure.text(group.limitPsi.value),
                plusMinusFigure: pressure.plusMinusFigure(group.limitPsi.u),
              })}
          </>
        }
        rows={sampleEvery(series, 5)}
        keyOf={({ psi }) => psi}
        columns={[
          [pressure.symbol, ({ psi }) => pressure.figure(psi), 'figure'],
          current !== null && [
            phrase('In force, {series}, {weightSymbol}', {
              series: lineName(series, current, times),
              weightSymbol: weight.symbol,
            }),
            (sample) => sample.current && tens(sample.current.value),
            'figure',
          ],
          current !== null && [
            `95 %, ${weight.symbol}`,
            (sample) => sample.current && weight.plusMinusFigure(sample.current.u),
            'figure',
          ],
          ...series.earlier.map(
            (line, i) =>
              [
                `${lineName(series, line, times)}, ${weight.symbol}`,
                ({ current: now, earlier }: ReturnType<typeof sampleEvery>[number]) => {
                  const lb = earlier[i] ?? 0
                  return now ? `${tens(lb)} (${weight.difference(lb - now.value)})` : tens(lb)
                },
                'figure',
              ] as const,
          ),
        ]}
      />
      {current && (
        <SheetTable
          title={phrase('Tickets of the line in force, ± 2u')}
          rows={current.points.map((point) => ({ ...point, off: residual({ current }, point) }))}
          keyOf={({ scale, ticket }) => `${scale} ${ticket}`}
          columns={[
            [
              phrase('Ticket'),
              ({ ticketId, ticket, scale }) => <TicketLink id={ticketId} number={ticket} scale={scale} />,
            ],
            [phrase('Weighed'), ({ weighedAt }) => times.moment(weighedAt), 'nowrap'],
            [pressure.symbol, ({ psi, uPsi }) => `${pressure.figure(psi)} ${pressure.plusMinusFigure(uPsi)}`, 'figure'],
            [
              phrase('Weight, {weightSymbol}', { weightSymbol: weight.symbol }),
              ({ weightLb, uLb }) => `${weight.figure(weightLb)} ${weight.plusMinusFigure(uLb)}`,
              'figure',
            ],
            [
              phrase('Off the line, {weightSymbol}', { weightSymbol: weight.symbol }),
              ({ off }) => `${weight.difference(off.value)} ${weight.plusMinusFigure(off.u)}`,
              'figure',
            ],
          ]}
        />
      )}
    </Scrolls>
  )
}

/** A group's lines as a chart or as a table of the same numbers. */
export function LineView({ group }: { group: GroupView }) {
  const series = useMemo(() => lineSeries(group), [group])
  if (!series)
    return (
      <p className="sheet-none">
        {phrase(
          'No calibration makes a line yet. Weigh the unit empty and loaded on a certified scale and note the pressures at the same moment.',
        )}
      </p>
    )
  return (
    <div className="line-view">
      <ChartOrTable
        param="view"
        label={phrase('Lines as')}
        keys={<LineKeys series={series} />}
        chart={<LineChart group={group} series={series} />}
        table={<LineTable group={group} series={series} />}
      />
    </div>
  )
}
