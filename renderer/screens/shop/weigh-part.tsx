import { useQuery } from '@tanstack/react-query'
import type { WeighNextView } from '#core/contracts/bench.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { Cautions, NotForTrade } from '#renderer/parts/cautions.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { yardName } from './shop-view.ts'

type Trip = WeighNextView['trips'][number]

/** One line for each group of a unit. */
const EachGroup = ({ of, draw }: { of: Trip; draw: (group: Trip['groups'][number]) => string }) => (
  <>
    {of.groups.map((each) => (
      <div key={each.group}>{draw(each)}</div>
    ))}
  </>
)

function Trips({ trips }: Pick<WeighNextView, 'trips'>) {
  if (trips.length === 0)
    return (
      <p className="quiet">
        {phrase(
          'No weighing would make a weight at the limit any surer now. Groups that have to be calibrated stand under Work.',
        )}
      </p>
    )
  return (
    <Section title={phrase('Weighings that teach most')}>
      <p className="shop-words">
        <Phrase
          text="The trips to a scale that teach most this week, at most ten, one a unit, most first. The ± is what a weight at the limit is good to, 95 times in 100. Weigh every group, with the air built up and the unit settled on level ground, and note every pressure at that moment. Then <link>weigh it in</link> with the ticket."
          with={{ link: (words) => <a href={hrefOf('weigh-in')}>{words}</a> }}
        />
      </p>
      <SheetTable
        className="shop-table"
        caption={phrase('Weigh this week')}
        rows={trips}
        keyOf={({ unit }) => unit}
        columns={[
          [phrase('Unit'), ({ unit }) => <a href={hrefOf('unit', unit)}>{unit}</a>, 'nowrap'],
          [phrase('Yard'), ({ yard }) => (yard === null ? <span className="quiet">{yardName(yard)}</span> : yard)],
          [phrase('On the scale'), ({ scale }) => scale],
          [phrase('Load'), (trip) => <EachGroup of={trip} draw={({ how }) => how} />],
          [phrase('Group'), (trip) => <EachGroup of={trip} draw={({ group }) => group} />],
          [phrase('What it teaches'), (trip) => <EachGroup of={trip} draw={({ taught }) => taught} />],
          [phrase('Why'), (trip) => <EachGroup of={trip} draw={({ why }) => why} />],
          [
            phrase('Trip'),
            ({ worthTrip }) => (worthTrip ? phrase('worth sending it') : phrase('when it passes a scale')),
            undefined,
            phrase(
              'Worth sending where a weight at the limit becomes surer by a tenth or more, and by more than a ticket scatters',
            ),
          ],
        ]}
      />
      <NotForTrade />
      <Cautions />
    </Section>
  )
}

/** The units whose next weighing teaches most, and why. */
export const WeighPart = () => (
  <Answer
    to={useQuery(api.bench.weighNext.queryOptions())}
    waiting={phrase('Looking for the weighings that teach most…')}
    failed={phrase('The weighings could not be read')}
  >
    {({ trips }) => <Trips trips={trips} />}
  </Answer>
)
