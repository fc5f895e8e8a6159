import { SegmentedControl } from '@mantine/core'
import { keepPreviousData, useInfiniteQuery } from '@tanstack/react-query'
import { api } from '#renderer/client/api.ts'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { count } from '#renderer/parts/format.ts'
import { RightsNote } from '#renderer/parts/rights-note.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { phrase } from '#core/words/phrase.ts'
import { CostPart } from './cost-part.tsx'
import { LivesPart } from './lives-part.tsx'
import { OrderPart } from './order-part.tsx'
import './shop-screen.css'
import { listOf, partLabels, shopParts, visitsAtOnce } from './shop-view.ts'
import { VisitsPart } from './visits-part.tsx'
import { WeighPart } from './weigh-part.tsx'
import { WorkPart } from './work-part.tsx'

/**
 * The shop's list: what work, on which unit, at which yard, by when; which units to send to the scale; the visits that
 * work waits for; how long cells last and what they cost.
 */
export function ShopScreen() {
  const { params } = useAddress()
  const part = shopParts.find((each) => each === params.get('part')) ?? 'work'
  const list = listOf(params)
  const plan = useInfiniteQuery({
    ...api.bench.plan.infiniteOptions({
      input: (offset: number) => ({ ...list, offset, limit: visitsAtOnce }),
      initialPageParam: 0,
      getNextPageParam: ({ total }, pages) => {
        const come = pages.reduce((sum, { visits }) => sum + visits.length, 0)
        return come < total ? come : undefined
      },
    }),
    placeholderData: keepPreviousData,
  })
  const first = plan.data?.pages[0]
  return (
    <div className="page stack shop">
      <header className="flow head">
        <ScreenTitle>{phrase('Shop Bench')}</ScreenTitle>
        {first && (
          <output className="quiet">
            {phrase(
              '{visits, plural, one {# visit} other {# visits}} {when} with {cells} cells; planned {firstDay} to {lastDay}',
              {
                visits: first.next.visits,
                when: first.next.when,
                cells: count(first.next.cells),
                firstDay: first.firstDay,
                lastDay: first.lastDay,
              },
            )}
          </output>
        )}
        <SegmentedControl
          className="shop-parts"
          aria-label={phrase('Part of the Shop Bench')}
          value={part}
          data={shopParts.map((value) => ({ value, label: partLabels[value] }))}
          onChange={(next) => changeParams({ part: next === 'work' ? null : next })}
        />
      </header>
      <RightsNote about={phrase('To look at only')} to="bench.markSwapped" />
      <Answer to={plan} waiting={phrase('Planning the bench…')} failed={phrase('The bench could not be planned')}>
        {({ pages }) =>
          part === 'work' &&
          first && (
            <WorkPart
              plan={first}
              visits={pages.flatMap(({ visits }) => visits)}
              more={{ onMore: () => void plan.fetchNextPage(), isLoading: plan.isFetchingNextPage }}
            />
          )
        }
      </Answer>
      {part === 'visits' && <VisitsPart />}
      {part === 'weigh' && <WeighPart />}
      {part === 'order' && <OrderPart />}
      {part === 'lives' && <LivesPart />}
      {part === 'cost' && <CostPart />}
    </div>
  )
}
