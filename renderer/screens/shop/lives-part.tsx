import { NativeSelect } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { lazy } from 'react'
import type { BenchLivesView } from '#core/contracts/bench.ts'
import { api } from '#renderer/client/api.ts'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { chance, count, decimal } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { type LifeStratum, intervalWords, stratumKey, stratumName } from './life-words.ts'

const LifeChart = lazy(() => import('./life-chart.tsx'))

function StrataTable({ strata }: Pick<BenchLivesView, 'strata'>) {
  return (
    <table className="sheet-table">
      <thead>
        <tr>
          <th scope="col">Cell</th>
          <th scope="col">Reports every</th>
          <th scope="col" className="figure">
            In service
          </th>
          <th scope="col" className="figure">
            Lives on record
          </th>
          <th scope="col" className="figure">
            Died
          </th>
          <th scope="col" className="figure">
            Swapped low
          </th>
          <th scope="col" className="figure" title="63 % are dead by then, with its 95 % interval">
            Characteristic life
          </th>
          <th scope="col" className="figure" title="By then half of those on record had died">
            Median on record
          </th>
          <th scope="col" className="figure" title="Age at which a new cell reaches the risk of the House Rules">
            Swap by age
          </th>
        </tr>
      </thead>
      <tbody>
        {strata.map((stratum) => (
          <tr key={stratumKey(stratum)}>
            <th scope="row">{stratum.cell ?? 'unknown'}</th>
            <td>{intervalWords(stratum.reportEveryS)}</td>
            <td className="figure">{count(stratum.sensors)}</td>
            <td className="figure">{count(stratum.lives)}</td>
            <td className="figure">{count(stratum.died)}</td>
            <td className="figure">{count(stratum.low)}</td>
            <td className="figure">
              {count(stratum.lifeDays)} d{' '}
              <span className="quiet">
                ({count(stratum.lifeLowDays)} to {count(stratum.lifeHighDays)})
              </span>
            </td>
            <td className="figure">
              {stratum.medianDays === null ? (
                <span className="quiet">not reached</span>
              ) : (
                `${count(stratum.medianDays)} d`
              )}
            </td>
            <td className="figure">{count(stratum.swapAgeDays)} d</td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}

function CurveTable({ stratum: { observed, law } }: { stratum: LifeStratum }) {
  const every = Math.max(1, Math.floor(law.days.length / 20))
  const lawRows = law.days.map((days, i) => ({ days, i })).filter(({ i }) => i % every === 0)
  return (
    <div className="shop-curves">
      <table className="sheet-table">
        <caption>By the law</caption>
        <thead>
          <tr>
            <th scope="col" className="figure">
              Age, days
            </th>
            <th scope="col" className="figure">
              Alive
            </th>
            <th scope="col" className="figure">
              95 % band
            </th>
          </tr>
        </thead>
        <tbody>
          {lawRows.map(({ days, i }) => (
            <tr key={i}>
              <td className="figure">{count(days)}</td>
              <td className="figure">{chance(law.alive[i] ?? 0)}</td>
              <td className="figure">
                {chance(law.lower[i] ?? 0)} to {chance(law.upper[i] ?? 1)}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <table className="sheet-table">
        <caption>On record</caption>
        <thead>
          <tr>
            <th scope="col" className="figure">
              Age, days
            </th>
            <th scope="col" className="figure">
              Alive
            </th>
          </tr>
        </thead>
        <tbody>
          {observed.days.map((days, i) => (
            <tr key={days}>
              <td className="figure">{count(days)}</td>
              <td className="figure">{chance(observed.alive[i] ?? 0)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}

/**
 * How long cells last, by type and reporting interval: the record, the law drawn from it, and what follows for
 * swapping.
 */
export function LivesPart() {
  const { params } = useAddress()
  const lives = useQuery(api.bench.lives.queryOptions())
  if (lives.isPending) return <output>Following the cells’ lives…</output>
  if (lives.isError) return <ProblemNotice title="The lives could not be read" error={lives.error} />
  const { strata } = lives.data
  const chosen =
    strata.find((stratum) => stratumKey(stratum) === params.get('of')) ??
    strata.toSorted((a, b) => b.lives - a.lives)[0]
  if (!chosen)
    return <p className="quiet">No cell is on record. Lives begin with a sensor’s mounting or its first cell change.</p>
  return (
    <div className="shop-lives">
      <p className="shop-words">
        A cell that was swapped while it still worked says that it lived at least so long; one that died says how long.
        One that was swapped because it reported low counts as part of a death, as House Rules say. While few have died,
        the House Rules’ expectation fills in, and gives way as the record grows. One shape holds for all:{' '}
        {decimal(chosen.shape)} (1 would be dying by chance at any age).
      </p>
      <StrataTable strata={strata} />
      <section className="shop-chart" aria-labelledby="shop-life">
        <h2 id="shop-life">Still alive by age</h2>
        <NativeSelect
          aria-label="Cell and interval"
          value={stratumKey(chosen)}
          data={strata.map((stratum) => ({ value: stratumKey(stratum), label: stratumName(stratum) }))}
          onChange={(event) => changeParams({ of: event.currentTarget.value }, { replace: true })}
        />
        <ChartOrTable
          param="life"
          label="Life as"
          table={<CurveTable stratum={chosen} />}
          chart={
            <figure className="shop-figure">
              <figcaption className="quiet">
                Steps: the record, its 95 % band dotted. Curve and shaded band: the law behind the swap dates.
              </figcaption>
              <LifeChart stratum={chosen} />
            </figure>
          }
        />
      </section>
    </div>
  )
}
