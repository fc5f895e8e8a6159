import { useDebouncedValue } from '@mantine/hooks'
import { useQuery } from '@tanstack/react-query'
import { useMemo, useState } from 'react'
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

/**
 * How well a unit answers the text: 0 its number, 1 begins with it, 2 contains it, 3 in its facts; undefined not at
 * all.
 */
function rank(row: RosterRow, text: string): number | undefined {
  const number = row.unit.toLowerCase()
  if (number === text) return 0
  if (number.startsWith(text)) return 1
  if (number.includes(text)) return 2
  return [row.make, row.model, row.yard, row.kind].some((fact) => fact?.toLowerCase().includes(text)) ? 3 : undefined
}

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

/** The places that answer what was typed, best first, ten at most. */
function findPlaces(typed: string, rows: readonly RosterRow[], tickets: readonly Place[]): Place[] {
  const text = typed.trim().toLowerCase()
  if (text === '') return [...screenPlaces, ...rows.slice(0, mostPlaces - screenPlaces.length).map(unitPlace)]
  const ranked: RosterRow[][] = [[], [], [], []]
  for (const row of rows) {
    const place = rank(row, text)
    if (place !== undefined) ranked[place]?.push(row)
  }
  const named = screenPlaces.filter(({ name }) => name.toLowerCase().includes(text))
  // Tickets come when typing rests: they stand behind the units of that number, one of which may be taken by then.
  const [exact = [], begins = [], contains = [], byFacts = []] = ranked
  const units = [...exact, ...begins, ...contains].slice(0, mostPlaces).map(unitPlace)
  return [...units, ...tickets, ...byFacts.slice(0, mostPlaces).map(unitPlace), ...named].slice(0, mostPlaces)
}

function Finder({ onClose }: { onClose: () => void }) {
  const roster = useQuery(api.roster.list.queryOptions())
  const [text, setText] = useState('')
  const tickets = useTickets(text)
  const places = useMemo(() => findPlaces(text, roster.data?.rows ?? [], tickets), [text, roster.data, tickets])
  return (
    <>
      <FindList
        label={phrase('Unit number, ticket, make, yard or screen')}
        listLabel={phrase('Places')}
        text={text}
        items={places}
        keyOf={({ href }) => href}
        firstIsChosen
        onType={setText}
        onPick={({ href }) => {
          onClose()
          go(href)
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
        {roster.isError
          ? problemText(roster.error)
          : roster.isPending
            ? phrase('Reading the units…')
            : places.length === 0
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
