import { useQuery } from '@tanstack/react-query'
import type { WeighNextView } from '#core/contracts/bench.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { Cautions, NotForTrade } from '#renderer/parts/cautions.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
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
        No weighing would make a weight at the limit any surer now. Groups that have to be calibrated stand under Work.
      </p>
    )
  return (
    <Section title="Weighings that teach most">
      <p className="shop-words">
        The trips to a scale that teach most this week, at most ten, one a unit, most first. The ± is what a weight at
        the limit is good to, 95 times in 100. Weigh every group, with the air built up and the unit settled on level
        ground, and note every pressure at that moment. Then <a href={hrefOf('weigh-in')}>weigh it in</a> with the
        ticket.
      </p>
      <SheetTable
        className="shop-table"
        caption="Weigh this week"
        rows={trips}
        keyOf={({ unit }) => unit}
        columns={[
          ['Unit', ({ unit }) => <a href={hrefOf('unit', unit)}>{unit}</a>, 'nowrap'],
          ['Yard', ({ yard }) => (yard === null ? <span className="quiet">{yardName(yard)}</span> : yard)],
          ['On the scale', ({ scale }) => scale],
          ['Load', (trip) => <EachGroup of={trip} draw={({ how }) => how} />],
          ['Group', (trip) => <EachGroup of={trip} draw={({ group }) => group} />],
          ['What it teaches', (trip) => <EachGroup of={trip} draw={({ taught }) => taught} />],
          ['Why', (trip) => <EachGroup of={trip} draw={({ why }) => why} />],
          [
            'Trip',
            ({ worthTrip }) => (worthTrip ? 'worth sending it' : 'when it passes a scale'),
            undefined,
            'Worth sending where a weight at the limit becomes surer by a tenth or more, and by more than a ticket scatters',
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
    waiting="Looking for the weighings that teach most…"
    failed="The weighings could not be read"
  >
    {({ trips }) => <Trips trips={trips} />}
  </Answer>
)
