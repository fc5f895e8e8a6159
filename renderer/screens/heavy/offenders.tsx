import { expanded } from '#core/words/coverage.ts'
import { lazy } from 'react'
import type { HeavySummary } from '#core/contracts/heavy.ts'
import { useAddress } from '#renderer/parts/address.ts'
import { ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, share, useMeasures } from '#renderer/parts/format.ts'
import { TallyCells, TallyHeads } from './counts.tsx'
import { type Offenders, chartedOffenders } from './heavy-counts.ts'
import { logHref, plural } from './heavy-entry.tsx'

const OffenderChart = lazy(() => import('./offender-chart.tsx'))

const Worst = ({ worstLb }: { worstLb: number | null }) => {
  const { weight } = useMeasures()
  return <td className="figure">{worstLb === null ? '' : weight.estimateFigure(worstLb)}</td>
}

function OffenderTable({ offenders }: { offenders: Offenders }) {
  const { params } = useAddress()
  const { weight } = useMeasures()
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="heavy-scroll" aria-label="Numbers of the worst offenders" tabIndex={0}>
      <table className="sheet-table">
        <caption className="unheard">Worst offenders, worst first</caption>
        <thead>
          <tr>
            <th scope="col">Unit</th>
            <th scope="col">Yard</th>
            <TallyHeads />
            <th scope="col" className="figure">
              Drawn to the fleet, 95 %
            </th>
            <th scope="col" className="figure">
              Worst, {weight.symbol}
            </th>
          </tr>
        </thead>
        <tbody>
          {offenders.rows.map((row) => (
            <tr key={row.unit}>
              <th scope="row" className="nowrap">
                <a href={logHref(params, { unit: row.unit })}>{row.unit}</a>
              </th>
              <td className="nowrap">{row.yard ?? ''}</td>
              <TallyCells tally={row} />
              <td className="figure">
                <strong>{share(row.shrunkRate)}</strong> ± {share(expanded(row.uShrunkRate))}
              </td>
              <Worst worstLb={row.worstLb} />
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}

function OffenderKey() {
  return (
    <figcaption className="chart-key">
      <span>
        <svg width="34" height="12" aria-hidden="true">
          <path d="M2 6h30M2 2v8M32 2v8" stroke="var(--t-ink)" fill="none" />
          <circle cx="17" cy="6" r="4" fill="var(--t-accent)" />
        </svg>
        drawn to the fleet, with its 95 % interval
      </span>
      <span>
        <svg width="14" height="12" aria-hidden="true">
          <path d="M7 1l5 5-5 5-5-5Z" stroke="var(--t-ink-2)" fill="none" strokeWidth="1.5" />
        </svg>
        as counted
      </span>
    </figcaption>
  )
}

function ByUnit({ units, all }: { units: HeavySummary['byUnit']; all: number }) {
  const { params } = useAddress()
  const { weight } = useMeasures()
  return (
    <section className="heavy-part" aria-labelledby="by-unit-title">
      <h2 id="by-unit-title">By unit, as counted</h2>
      <p className="heavy-words">
        Those over most often come first. A trailer counts where its combination was over on gross, too; its worst is
        that of its own axles{all > units.length && `, ${count(units.length)} of ${count(all)}`}.
      </p>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section className="heavy-scroll" aria-label="Counts by unit" tabIndex={0}>
        <table className="sheet-table">
          <caption className="unheard">By unit, those over most often first</caption>
          <thead>
            <tr>
              <th scope="col">Unit</th>
              <TallyHeads />
              <th scope="col" className="figure">
                Worst, {weight.symbol}
              </th>
            </tr>
          </thead>
          <tbody>
            {units.map((row) => (
              <tr key={row.unit}>
                <th scope="row" className="nowrap">
                  <a href={logHref(params, { unit: row.unit })}>{row.unit}</a> <span className="quiet">{row.kind}</span>
                </th>
                <TallyCells tally={row} />
                <Worst worstLb={row.worstLb} />
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </section>
  )
}

/** Who ran heavy: the rates that a fair ranking takes, and the plain counts beside them. */
export function OffenderView({ summary: { offenders, byUnit, units } }: { summary: HeavySummary }) {
  return (
    <div className="heavy-two">
      <section className="heavy-part" aria-labelledby="offenders-title">
        <h2 id="offenders-title">Worst offenders</h2>
        {offenders ? (
          <>
            <p className="heavy-words">
              Each rate is drawn towards the fleet’s {share(offenders.fleetRate)} as if {count(offenders.fleetWeight)}{' '}
              weighings at that rate stood beside the unit’s own, so one bad day of a rarely used truck does not top the
              list. A tractor stands for its whole combination.
            </p>
            <ChartOrTable
              param="rates"
              label="Worst offenders as"
              chart={
                <figure className="chart">
                  <OffenderKey />
                  <OffenderChart offenders={offenders} />
                </figure>
              }
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
      </section>
      <ByUnit units={byUnit} all={units} />
    </div>
  )
}
