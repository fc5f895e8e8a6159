import { NativeSelect } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { lazy } from 'react'
import type { BenchLivesView } from '#core/contracts/bench.ts'
import { api } from '#renderer/client/api.ts'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { chance, count, decimal } from '#renderer/parts/format.ts'
import { type Columns, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { type LifeStratum, intervalWords, stratumKey, stratumName } from './life-words.ts'

const LifeChart = lazy(() => import('./life-chart.tsx'))

const strataColumns: Columns<LifeStratum> = [
  [phrase('Cell'), ({ cell }) => cell ?? phrase('unknown')],
  [phrase('Reports every'), ({ reportEveryS }) => intervalWords(reportEveryS)],
  [phrase('In service'), ({ sensors }) => count(sensors), 'figure'],
  [phrase('Lives on record'), ({ lives }) => count(lives), 'figure'],
  [phrase('Died'), ({ died }) => count(died), 'figure'],
  [phrase('Swapped low'), ({ low }) => count(low), 'figure'],
  [
    phrase('Characteristic life'),
    ({ lifeDays, lifeLowDays, lifeHighDays }) => (
      <>
        {count(lifeDays)} d{' '}
        <span className="quiet">
          {phrase('({lifeLowDays} to {lifeHighDays})', {
            lifeLowDays: count(lifeLowDays),
            lifeHighDays: count(lifeHighDays),
          })}
        </span>
      </>
    ),
    'figure',
    phrase('63 % have failed by then, with its 95 % interval'),
  ],
  [
    phrase('Median on record'),
    ({ medianDays }) =>
      medianDays === null ? <span className="quiet">{phrase('not reached')}</span> : `${count(medianDays)} d`,
    'figure',
    phrase('By then half of those on record had failed; a low one counts in part'),
  ],
  [
    phrase('Swap by age'),
    ({ swapAgeDays }) => `${count(swapAgeDays)} d`,
    'figure',
    phrase('Age at which a new cell reaches the risk of the House Rules'),
  ],
]

function CurveTables({ stratum: { observed, law } }: { stratum: LifeStratum }) {
  const every = Math.max(1, Math.floor(law.days.length / 20))
  const places = (days: readonly number[]) => days.map((_, place) => place)
  return (
    <div className="shop-curves">
      <SheetTable
        title={phrase('By the law')}
        rows={places(law.days).filter((i) => i % every === 0)}
        keyOf={(i) => i}
        columns={[
          [phrase('Age, days'), (i) => count(law.days[i] ?? 0), 'figure'],
          [phrase('Alive'), (i) => chance(law.alive[i] ?? 0), 'figure'],
          [
            phrase('95 % band'),
            (i) =>
              phrase('{chance} to {chance2}', {
                chance: chance(law.lower[i] ?? 0),
                chance2: chance(law.upper[i] ?? 1),
              }),
            'figure',
          ],
        ]}
      />
      <SheetTable
        title={phrase('On record')}
        rows={places(observed.days)}
        keyOf={(i) => i}
        columns={[
          [phrase('Age, days'), (i) => count(observed.days[i] ?? 0), 'figure'],
          [phrase('Alive'), (i) => chance(observed.alive[i] ?? 0), 'figure'],
        ]}
      />
    </div>
  )
}

function Lives({ strata }: Pick<BenchLivesView, 'strata'>) {
  const { params } = useAddress()
  const chosen =
    strata.find((stratum) => stratumKey(stratum) === params.get('of')) ??
    strata.toSorted((a, b) => b.lives - a.lives)[0]
  if (!chosen)
    return (
      <p className="quiet">
        {phrase('No cell is on record. Lives begin with a sensor’s mounting or its first cell change.')}
      </p>
    )
  return (
    <div className="shop-lives">
      <p className="shop-words">
        {phrase(
          'A cell that was swapped while it still worked says that it lived at least so long; one that died says how long. One that was swapped because it reported low counts as part of a death, as House Rules say: in the steps of the record as in the law drawn through them. While few have died, the House Rules’ expectation fills in, and gives way as the record grows. One shape holds for all: {shape} (1 would be dying by chance at any age).',
          { shape: decimal(chosen.shape) },
        )}
      </p>
      <SheetTable
        frame="wide"
        label={phrase('Lives of cells')}
        rows={strata}
        keyOf={stratumKey}
        columns={strataColumns}
      />
      <Section className="shop-chart" title={phrase('Still alive by age')}>
        <NativeSelect
          aria-label={phrase('Cell and interval')}
          value={stratumKey(chosen)}
          data={strata.map((stratum) => ({ value: stratumKey(stratum), label: stratumName(stratum) }))}
          onChange={(event) => changeParams({ of: event.currentTarget.value }, { replace: true })}
        />
        <ChartOrTable
          param="life"
          label={phrase('Life as')}
          keys={phrase(
            'Steps: the record, its 95 % band dotted. Curve and shaded band: the law behind the swap dates.',
          )}
          chart={<LifeChart stratum={chosen} />}
          table={<CurveTables stratum={chosen} />}
        />
      </Section>
    </div>
  )
}

/**
 * How long cells last, by type and reporting interval: the record, the law drawn from it, and what follows for
 * swapping.
 */
export const LivesPart = () => (
  <Answer
    to={useQuery(api.bench.lives.queryOptions())}
    waiting={phrase('Following the cells’ lives…')}
    failed={phrase('The lives could not be read')}
  >
    {({ strata }) => <Lives strata={strata} />}
  </Answer>
)
