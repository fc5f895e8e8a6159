import { expanded } from '#core/words/coverage.ts'
import { lazy } from 'react'
import type { HeavySummary } from '#core/contracts/heavy.ts'
import { useAddress } from '#renderer/parts/address.ts'
import { ChartKey, ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { type Measures, count, share, useMeasures } from '#renderer/parts/format.ts'
import { type Column, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { tallyColumns } from './counts.tsx'
import { type Offenders, chartedOffenders } from './heavy-counts.ts'
import { logHref, plural } from './heavy-entry.tsx'

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
      drawn to the fleet, with its 95 % interval
    </ChartKey>
    <ChartKey
      widthPx={14}
      sample={<path d="M7 1l5 5-5 5-5-5Z" stroke="var(--t-ink-2)" fill="none" strokeWidth="1.5" />}
    >
      as counted
    </ChartKey>
  </>
)

const worstColumn = ({ weight }: Measures): Column<{ readonly worstLb: number | null }> => [
  `Worst, ${weight.symbol}`,
  ({ worstLb }) => worstLb !== null && weight.estimateFigure(worstLb),
  'figure',
]

function OffenderTable({ offenders }: { offenders: Offenders }) {
  const { params } = useAddress()
  const measures = useMeasures()
  return (
    <SheetTable
      frame="heavy-scroll"
      label="Numbers of the worst offenders"
      caption="Worst offenders, worst first"
      rows={offenders.rows}
      keyOf={({ unit }) => unit}
      columns={[
        ['Unit', ({ unit }) => <a href={logHref(params, { unit })}>{unit}</a>, 'nowrap'],
        ['Yard', ({ yard }) => yard, 'nowrap'],
        ...tallyColumns,
        [
          'Drawn to the fleet, 95 %',
          ({ shrunkRate, uShrunkRate }) => (
            <>
              <strong>{share(shrunkRate)}</strong> ± {share(expanded(uShrunkRate))}
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
    <Section className="heavy-part" title="By unit, as counted">
      <p className="heavy-words">
        Those over most often come first. A trailer counts where its combination was over on gross, too; its worst is
        that of its own axles{all > units.length && `, ${count(units.length)} of ${count(all)}`}.
      </p>
      <SheetTable
        frame="heavy-scroll"
        label="Counts by unit"
        caption="By unit, those over most often first"
        rows={units}
        keyOf={({ unit }) => unit}
        columns={[
          [
            'Unit',
            ({ unit, kind }) => (
              <>
                <a href={logHref(params, { unit })}>{unit}</a> <span className="quiet">{kind}</span>
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
      <Section className="heavy-part" title="Worst offenders">
        {offenders ? (
          <>
            <p className="heavy-words">
              Each rate is drawn towards the fleet’s {share(offenders.fleetRate)} as if
              {` ${count(offenders.fleetWeight)} weighings at that rate stood beside the unit’s own, `}
              so one bad day of a rarely used truck does not top the list. A tractor stands for its whole combination.
            </p>
            <ChartOrTable
              param="rates"
              label="Worst offenders as"
              keys={offenderKeys}
              chart={<OffenderChart offenders={offenders} />}
              table={<OffenderTable offenders={offenders} />}
            />
            {offenders.rows.length > chartedOffenders && (
              <p className="quiet">
                The chart shows the first {count(chartedOffenders)}, the table {count(offenders.rows.length)}{' '}
                {plural(offenders.rows.length, 'unit')}.
              </p>
            )}
          </>
        ) : (
          <p className="sheet-none">No tractor or truck was weighed here.</p>
        )}
      </Section>
      <ByUnit units={byUnit} all={units} />
    </div>
  )
}
