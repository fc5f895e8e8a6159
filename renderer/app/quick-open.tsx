import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { useEffect, useEffectEvent, useMemo, useRef, useState } from 'react'
import type { RosterRow } from '#core/contracts/unit.ts'
import { screens } from '#renderer/app/screens.tsx'
import { api } from '#renderer/client/api.ts'
import { go, hrefOf } from '#renderer/parts/address.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { FindList } from '#renderer/parts/find-list.tsx'
import { TrustMark } from '#renderer/parts/marks.tsx'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { phrase } from '#core/words/phrase.ts'

/** Somewhere to go: a screen, a ticket, or a unit with its trust. */
export interface Place {
  readonly name: string
  readonly about: string
  readonly href: string
  readonly trust?: RosterRow['trust']
}

const mostPlaces = 10

const screenPlaces: Place[] = Object.entries(screens).flatMap(([name, { label, letter }]) =>
  letter || name === 'copies' || name === 'about' ? [{ name: label, about: phrase('Screen'), href: hrefOf(name) }] : [],
)

function unitPlace({ unit, kind, make, model, yard, trust }: RosterRow): Place {
  return { name: unit, about: [kind, make, model, yard].filter(Boolean).join(' · '), href: hrefOf('unit', unit), trust }
}

/** Whether a unit answers the text by its number or its facts. */
const answers = ({ unit, kind, make, model, yard }: RosterRow, text: string): boolean =>
  [unit, kind, make, model, yard].some((fact) => fact?.toLowerCase().includes(text))

/** Tickets that are found by their number; few, since it is typed whole. */
const mostTickets = 4

/** The tickets whose number or scale answers what was typed, once typing rests; none for a text without two digits. */
function useTickets(typed: string): Place[] {
  const [text] = useDebouncedValue(typed.trim(), 150)
  const found = useQuery(
    api.evidence.tickets.queryOptions({ input: { text, limit: mostTickets }, enabled: /\d\D*\d/.test(text) }),
  )
  const rows = text === typed.trim() ? found.data?.rows : undefined
  return useMemo(
    () =>
      (rows ?? []).map(({ id, number, scale, units }) => ({
        name: phrase('Ticket {number}', { number }),
        about: [scale, units.join(' + ')].filter(Boolean).join(' · '),
        href: hrefOf('ticket', String(id)),
      })),
    [rows],
  )
}

/** The places that answer what was typed, best first, ten at most; rows: units in that order. */
function findPlaces(typed: string, rows: readonly RosterRow[], tickets: readonly Place[]): Place[] {
  const text = typed.trim().toLowerCase()
  if (text === '') return [...screenPlaces, ...rows.map(unitPlace)].slice(0, mostPlaces)
  const byNumber = rows.filter(({ unit }) => unit.toLowerCase().includes(text))
  const byFacts = rows.filter((row) => !byNumber.includes(row))
  const named = screenPlaces.filter(({ name }) => name.toLowerCase().includes(text))
  // Tickets come when typing rests: they stand behind the units of that number, one of which may be taken by then.
  return [...byNumber.map(unitPlace), ...tickets, ...byFacts.map(unitPlace), ...named].slice(0, mostPlaces)
}

/** The units that answer what was typed, best first; until those are there, what is left of the ones before. */
function useUnits(typed: string) {
  const text = typed.trim()
  const found = useQuery({
    ...api.roster.list.queryOptions({ input: { text, sort: text === '' ? 'unit' : 'match', limit: mostPlaces } }),
    placeholderData: keepPreviousData,
  })
  const isFresh = found.data !== undefined && !found.isPlaceholderData
  const rows = useMemo(() => {
    const all = found.data?.rows ?? []
    return isFresh ? all : all.filter((row) => answers(row, text.toLowerCase()))
  }, [found.data, isFresh, text])
  return { ...found, isFresh, rows }
}

function Finder({ onClose }: { onClose: () => void }) {
  const [text, setText] = useState('')
  const units = useUnits(text)
  const tickets = useTickets(text)
  const places = useMemo(() => findPlaces(text, units.rows, tickets), [text, units.rows, tickets])
  /** Enter was pressed before the units of what is typed were there: it is for the first of those. */
  const hurried = useRef(false)
  const open = ({ href }: Place) => {
    onClose()
    go(href)
  }
  const goOn = useEffectEvent(() => {
    const [first] = places
    if (units.isFresh && hurried.current && first) open(first)
    hurried.current = false
  })
  // biome-ignore lint/correctness/useExhaustiveDependencies: once the units are there
  useEffect(() => goOn(), [units.isFresh])
  return (
    <>
      <FindList
        label={phrase('Unit number, ticket, make, yard or screen')}
        listLabel={phrase('Places')}
        text={text}
        items={places}
        keyOf={({ href }) => href}
        firstIsChosen
        onType={(typed) => {
          hurried.current = false
          setText(typed)
        }}
        onKeyDown={({ key }) => {
          if (key === 'Enter' && !units.isFresh) hurried.current = true
        }}
        onPick={(place) => {
          if (!hurried.current) open(place)
        }}
      >
        {({ name, about, trust }) => (
          <span className="quick-place">
            <span className="quick-name">{name}</span>
            <span className="quiet">{about}</span>
            {trust !== undefined && <TrustMark trust={trust} />}
          </span>
        )}
      </FindList>
      <output className="quick-foot">
        {units.isError
          ? problemText(units.error)
          : units.isPending
            ? phrase('Reading the units…')
            : places.length === 0 && units.isFresh
              ? phrase('No unit, ticket or screen matches.')
              : ''}
      </output>
    </>
  )
}

/** Jumps to a unit, a ticket or a screen by a few letters. */
export function QuickOpen({ opened, onClose }: { opened: boolean; onClose: () => void }) {
  return (
    <Dialog opened={opened} onClose={onClose} title={phrase('Go to')} size="lg" yOffset="10vh" returnFocus={false}>
      <Finder onClose={onClose} />
    </Dialog>
  )
}
