import { Button } from '@mantine/core'
import { useDebouncedCallback, useDebouncedValue } from '@mantine/hooks'
import { useQuery } from '@tanstack/react-query'
import { useMemo, useState } from 'react'
import type { RosterList, RosterOrderInput } from '#core/contracts/unit.ts'
import { api, client } from '#renderer/client/api.ts'
import { changeParams, go, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { CabCards } from '#renderer/parts/cab-cards.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { Papers } from '#renderer/parts/papers.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { FirstLine, NoUnits } from './no-units.tsx'
import { RosterFilters, TrustStrip } from './roster-filters.tsx'
import './roster-screen.css'
import { type Choice, RosterTable } from './roster-table.tsx'
import { type RosterView, noFilter, orderInput, readRosterView, sortParams, useFirstPage } from './roster-view.ts'

/** Named one by one; the others are counted. */
const namedTrips = 3

/** The way to the weighings that teach most, in the line of the title: it takes no height from the list. */
function WeighThisWeek() {
  const { data } = useQuery(api.bench.weighNext.queryOptions())
  if (!data || data.trips.length === 0) return null
  const named = data.trips.slice(0, namedTrips).map(({ unit }) => unit)
  const more = data.trips.length - named.length
  return (
    <a className="roster-weigh" href={hrefOf('shop', null, { part: 'weigh' })}>
      {phrase('Weigh this week: {named}{more}', {
        named: named.join(', '),
        more: more > 0 && phrase(' and {more} more', { more: count(more) }),
      })}
    </a>
  )
}

interface UnitsProps {
  readonly view: RosterView
  readonly roster: RosterList
  /** What the answer is of: what was asked before, until that of the view is there. */
  readonly order: RosterOrderInput
  readonly choice: Choice
  readonly onChoose: (choice: Choice) => void
}

function Units({ view, roster, order, choice, onChoose }: UnitsProps) {
  const { times, weight } = useMeasures()
  const { rows, total, all, counts, choices } = roster
  const example = rows.find(({ uLimitLb }) => uLimitLb !== null)
  useHelpExample(
    example?.trust && example.uLimitLb !== null
      ? phrase('{unit} is {trust}: a weight at its limit is good to {uLimitLb}.', {
          unit: example.unit,
          trust: word(example.trust),
          uLimitLb: weight.plusMinus(example.uLimitLb),
        })
      : null,
  )
  const asOf = roster.asOf ?? new Date().toISOString()
  // A unit without a gauge has nothing to read off.
  const sensed = view.trust.size > 0 ? total : total - counts.notSensed
  const keepChosen = useDebouncedCallback((unit: string) => changeParams({ at: unit }, { replace: true }), {
    delay: 200,
    flushOnUnmount: false,
  })
  const open = (unit: string) => {
    changeParams({ at: unit }, { replace: true })
    go(hrefOf('unit', unit))
  }
  const makeCards = async () => client.cabCard.make({ units: await client.roster.sensed(order) })
  return (
    <>
      <div className="roster-top">
        <div className="roster-title">
          <h1 tabIndex={-1}>{phrase('Roster')}</h1>
          <output className="quiet">
            {phrase('{rows} of {rows2} units, as of {asOf}', {
              rows: count(total),
              rows2: count(all),
              asOf: times.moment(asOf),
            })}
          </output>
          <WeighThisWeek />
        </div>
        <FirstLine />
        <TrustStrip
          counts={counts.trust}
          notSensed={counts.notSensed}
          chosen={view.trust}
          onChange={(chosen) => changeParams({ trust: [...chosen].join(',') })}
        />
        <div className="flow roster-tools">
          <RosterFilters view={view} choices={choices} />
          <CabCards total={sensed} label={phrase('Cab cards')} make={makeCards} />
          <Papers
            papers={[
              [phrase('Save as spreadsheet'), () => client.roster.export({ ...order, format: 'spreadsheet' })],
              [phrase('Save as PDF'), () => client.roster.export({ ...order, format: 'pdf' })],
            ]}
            disabled={total === 0}
          />
        </div>
      </div>
      {total > 0 ? (
        <RosterTable
          order={order}
          total={total}
          first={rows}
          asOf={asOf}
          sort={view.sort}
          chosen={choice}
          onSort={(sort) => changeParams(sortParams(sort))}
          onChoose={(chosen) => {
            // The selection moves at once; the address follows when the keys rest, as browsers limit how often it may
            // change.
            onChoose(chosen)
            if (chosen.unit !== null) keepChosen(chosen.unit)
          }}
          onOpen={open}
        />
      ) : (
        <div className="roster-none">
          <p>{phrase('No unit matches these filters.')}</p>
          <Button onClick={() => changeParams(noFilter)}>{phrase('Show every unit')}</Button>
        </div>
      )}
    </>
  )
}

/** While somebody types, the Roster is asked once the keys rest for so long. */
const typingMs = 80

/** Every unit and the trust it deserves. */
export function RosterScreen() {
  const { params } = useAddress()
  const view = useMemo(() => readRosterView(params), [params])
  const [text] = useDebouncedValue(view.text, typingMs)
  const order = useMemo(() => orderInput({ ...view, text }), [view, text])
  const question = JSON.stringify(order)
  const [choice, setChoice] = useState<Choice & { readonly of: string }>({ index: -1, unit: view.at, of: '' })
  // Another question is another list: the chosen unit is looked for in it.
  const [sought, setSought] = useState({ unit: view.at, question })
  if (sought.question !== question) setSought({ unit: choice.unit, question })
  const asked = useFirstPage(order, sought.unit)
  const [answered, setAnswered] = useState(order)
  if (asked.data && !asked.isPlaceholderData && JSON.stringify(answered) !== question) setAnswered(order)
  const roster = asked.data
  const chosen: Choice =
    choice.of === JSON.stringify(answered) ? choice : { unit: sought.unit, index: roster?.place ?? -1 }
  return (
    <div className="roster">
      {roster?.all !== 0 && <title>{phrase('Roster · Tareline')}</title>}
      {!roster && (
        <div className="roster-wait">
          <Answer to={asked} waiting={phrase('Reading the units…')} failed={phrase('The units could not be read')} />
        </div>
      )}
      {roster &&
        (roster.all === 0 ? (
          <NoUnits />
        ) : (
          <Units
            view={view}
            roster={roster}
            order={answered}
            choice={chosen}
            onChoose={(next) => setChoice({ ...next, of: JSON.stringify(answered) })}
          />
        ))}
    </div>
  )
}
