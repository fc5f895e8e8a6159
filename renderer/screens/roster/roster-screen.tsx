import { Button } from '@mantine/core'
import { useDebouncedCallback } from '@mantine/hooks'
import { useQuery } from '@tanstack/react-query'
import { useDeferredValue, useMemo, useState } from 'react'
import type { RosterRow } from '#core/contracts/unit.ts'
import { api, client } from '#renderer/client/api.ts'
import { changeParams, go, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { CabCards } from '#renderer/parts/cab-cards.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { Papers } from '#renderer/parts/papers.tsx'
import { phrase } from '#core/words/phrase.ts'
import { FirstLine, NoUnits } from './no-units.tsx'
import { RosterFilters, TrustStrip } from './roster-filters.tsx'
import './roster-screen.css'
import { RosterTable, inOrder } from './roster-table.tsx'
import { filterRows, makeSearchable, naturalKey, noFilter, readRosterView, sortParams } from './roster-view.ts'

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

function Units({ rows, asOf }: { rows: readonly RosterRow[]; asOf: string }) {
  const { times } = useMeasures()
  const { params } = useAddress()
  const view = useMemo(() => readRosterView(params), [params])
  const filters = useDeferredValue(view)
  const searchable = useMemo(
    () => makeSearchable([...rows].sort((a, b) => (naturalKey(a.unit) < naturalKey(b.unit) ? -1 : 1))),
    [rows],
  )
  const filtered = useMemo(() => filterRows(searchable, filters), [searchable, filters])
  // A unit without a gauge has nothing to read off.
  const sensed = useMemo(() => filtered.rows.flatMap(({ unit, trust }) => (trust === null ? [] : [unit])), [filtered])
  const shown = useMemo(
    () => inOrder(filtered.rows, view.sort, asOf).map(({ unit }) => unit),
    [filtered, view.sort, asOf],
  )
  // The selection moves at once; the address follows when the keys rest, as browsers limit how often it may change.
  const [selected, setSelected] = useState(view.at)
  const keepSelected = useDebouncedCallback((unit: string) => changeParams({ at: unit }, { replace: true }), {
    delay: 200,
    flushOnUnmount: false,
  })
  const open = (unit: string) => {
    changeParams({ at: unit }, { replace: true })
    go(hrefOf('unit', unit))
  }
  return (
    <>
      <div className="roster-top">
        <div className="roster-title">
          <h1 tabIndex={-1}>{phrase('Roster')}</h1>
          <output className="quiet">
            {phrase('{rows} of {rows2} units, as of {asOf}', {
              rows: count(filtered.rows.length),
              rows2: count(rows.length),
              asOf: times.moment(asOf),
            })}
          </output>
          <WeighThisWeek />
        </div>
        <FirstLine />
        <TrustStrip
          counts={filtered.counts}
          notSensed={filtered.notSensed}
          chosen={view.trust}
          onChange={(chosen) => changeParams({ trust: [...chosen].join(',') })}
        />
        <div className="flow roster-tools">
          <RosterFilters view={view} rows={rows} />
          <CabCards units={sensed} label={phrase('Cab cards')} make={(of) => client.cabCard.make(of)} />
          <Papers
            papers={[
              [phrase('Save as spreadsheet'), () => client.roster.export({ units: shown, format: 'spreadsheet' })],
              [phrase('Save as PDF'), () => client.roster.export({ units: shown, format: 'pdf' })],
            ]}
            disabled={shown.length === 0}
          />
        </div>
      </div>
      {filtered.rows.length > 0 ? (
        <RosterTable
          rows={filtered.rows}
          asOf={asOf}
          sort={view.sort}
          at={selected}
          onSort={(sort) => changeParams(sortParams(sort))}
          onSelect={(unit) => {
            setSelected(unit)
            keepSelected(unit)
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

/** Every unit and the trust it deserves. */
export function RosterScreen() {
  const roster = useQuery(api.roster.list.queryOptions())
  return (
    <div className="roster">
      {roster.data?.rows.length !== 0 && <title>{phrase('Roster · Tareline')}</title>}
      {!roster.data && (
        <div className="roster-wait">
          <Answer to={roster} waiting={phrase('Reading the units…')} failed={phrase('The units could not be read')} />
        </div>
      )}
      {roster.data &&
        (roster.data.rows.length === 0 ? (
          <NoUnits />
        ) : (
          <Units rows={roster.data.rows} asOf={roster.data.asOf ?? new Date().toISOString()} />
        ))}
    </div>
  )
}
