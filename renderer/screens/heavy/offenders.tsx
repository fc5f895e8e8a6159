import { lazy } from 'react'
import type { HeavySummary } from '#core/contracts/heavy.ts'
import { useAddress } from '#renderer/parts/address.ts'
import { ChartKey, ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { type Measures, count, share, useMeasures } from '#renderer/parts/format.ts'
import { type Column, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { tallyColumns } from './counts.tsx'
import { type Offenders, chartedOffenders } from './heavy-counts.ts'
import { logHref } from './heavy-entry.tsx'

const OffenderChart = lazy(() => import('./offender-chart.tsx'))

const offenderKeys = (
  <>
    <ChartKey
      widthPx={34}
      sample={
        <>
          <path d="M2 6h30M2 2v8M32 2v8" stroke="var(--t-ink)" fill="none" />
          <circle cx="17" cy="6" r="4" fill="var(--t-accent)" />
        </>
      }
    >
      {phrase('drawn to the fleet, with its 95 % interval')}
    </ChartKey>
    <ChartKey
      widthPx={14}
      sample={<path d="M7 1l5 5-5 5-5-5Z" stroke="var(--t-ink-2)" fill="none" strokeWidth="1.5" />}
    >
      {phrase('as counted')}
    </ChartKey>
  </>
)

const worstColumn = ({ weight }: Measures): Column<{ readonly worstLb: number | null }> => [
  phrase('Worst, {weightSymbol}', { weightSymbol: weight.symbol }),
  ({ worstLb }) => worstLb !== null && weight.estimateFigure(worstLb),
  'figure',
]

function OffenderTable({ offenders }: { offenders: Offenders }) {
  const { params } = useAddress()
  const measures = useMeasures()
  return (
    <SheetTable
      frame="heavy-scroll"
      label={phrase('Numbers of the worst offenders')}
      caption={phrase('Worst offenders, worst first')}
      rows={offenders.rows}
      keyOf={({ unit }) => unit}
      columns={[
        [phrase('Unit'), ({ unit }) => <a href={logHref(params, { unit })}>{unit}</a>, 'nowrap'],
        [phrase('Yard'), ({ yard }) => yard, 'nowrap'],
        ...tallyColumns,
        [
          phrase('Drawn to the fleet, 95 %'),
          ({ rate, low, high }) => (
            <>
              <strong>{share(rate)}</strong> {phrase('{low} to {high}', { low: share(low), high: share(high) })}
            </>
          ),
          'figure',
        ],
        worstColumn(measures),
      ]}
    />
  )
}

function ByUnit({ units, all }: { units: HeavySummary['byUnit']; all: number }) {
  const { params } = useAddress()
  const measures = useMeasures()
  return (
    <Section className="heavy-part" title={phrase('By unit, as counted')}>
      <p className="heavy-words">
        {phrase(
          'Those over most often come first. A trailer counts where its combination was over on gross, too; its worst is that of its own axles{all}.',
          { all: all > units.length && phrase(', {units} of {all}', { units: count(units.length), all: count(all) }) },
        )}
      </p>
      <SheetTable
        frame="heavy-scroll"
        label={phrase('Counts by unit')}
        caption={phrase('By unit, those over most often first')}
        rows={units}
        keyOf={({ unit }) => unit}
        columns={[
          [
            phrase('Unit'),
            ({ unit, kind }) => (
              <>
                <a href={logHref(params, { unit })}>{unit}</a> <span className="quiet">{word(kind)}</span>
              </>
            ),
            'nowrap',
          ],
          ...tallyColumns,
          worstColumn(measures),
        ]}
      />
    </Section>
  )
}

/** Who ran heavy: the rates that a fair ranking takes, and the plain counts beside them. */
export function OffenderView({ summary: { offenders, byUnit, units } }: { summary: HeavySummary }) {
  return (
    <div className="heavy-two">
      <Section className="heavy-part" title={phrase('Worst offenders')}>
        {offenders ? (
          <>
            <p className="heavy-words">
              {phrase(
                'Each rate is drawn towards the fleet’s {fleetRate} as if {fleetWeight} weighings at that rate stood beside the unit’s own, so one bad day of a rarely used truck does not top the list. A tractor stands for its whole combination.',
                { fleetRate: share(offenders.fleetRate), fleetWeight: count(offenders.fleetWeight) },
              )}
            </p>
            <ChartOrTable
              param="rates"
              label={phrase('Worst offenders as')}
              keys={offenderKeys}
              chart={<OffenderChart offenders={offenders} />}
              table={<OffenderTable offenders={offenders} />}
            />
            {offenders.rows.length > chartedOffenders && (
              <p className="quiet">
                {phrase(
                  'The chart shows the first {charted, number}, the table {rows, plural, one {# unit} other {# units}}.',
                  { charted: chartedOffenders, rows: offenders.rows.length },
                )}
              </p>
            )}
          </>
        ) : (
          <p className="sheet-none">{phrase('No tractor or truck was weighed here.')}</p>
        )}
      </Section>
      <ByUnit units={byUnit} all={units} />
    </div>
  )
}
