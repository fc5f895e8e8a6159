import { useQuery } from '@tanstack/react-query'
import { type KeyboardEvent, useMemo, useState } from 'react'
import type { RosterRow } from '#core/contracts/unit.ts'
import { screens } from '#renderer/app/screens.tsx'
import { api } from '#renderer/client/api.ts'
import { go, hrefOf } from '#renderer/parts/address.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { TrustMark } from '#renderer/parts/marks.tsx'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import './dialog-field.css'
import './quick-open.css'

/** Somewhere to go: a screen, or a unit with its trust. */
export interface Place {
  readonly name: string
  readonly about: string
  readonly href: string
  readonly trust?: RosterRow['trust']
}

const mostPlaces = 10

const screenPlaces: Place[] = Object.entries(screens).flatMap(([name, { label, letter }]) =>
  letter || name === 'copies' || name === 'about' ? [{ name: label, about: 'Screen', href: hrefOf(name) }] : [],
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

/** The places that answer what was typed, best first, ten at most. */
export function findPlaces(typed: string, rows: readonly RosterRow[]): Place[] {
  const text = typed.trim().toLowerCase()
  if (text === '') return [...screenPlaces, ...rows.slice(0, mostPlaces - screenPlaces.length).map(unitPlace)]
  const ranked: RosterRow[][] = [[], [], [], []]
  for (const row of rows) {
    const place = rank(row, text)
    if (place !== undefined) ranked[place]?.push(row)
  }
  const named = screenPlaces.filter(({ name }) => name.toLowerCase().includes(text))
  return [...ranked.flat().slice(0, mostPlaces).map(unitPlace), ...named].slice(0, mostPlaces)
}

function PlaceList({
  places,
  chosen,
  onOpen,
}: {
  places: readonly Place[]
  chosen: number
  onOpen: (place: Place) => void
}) {
  return (
    <div role="listbox" id="quick-open-list" aria-label="Places" className="quick-list">
      {places.map((place, index) => (
        // The field above keeps the focus and moves the choice, as a combobox does.
        // biome-ignore lint/a11y/useKeyWithClickEvents: Enter in the field does what a click does
        <div
          key={place.href}
          id={`quick-open-${index}`}
          role="option"
          tabIndex={-1}
          aria-selected={index === chosen}
          className="quick-place"
          onClick={() => onOpen(place)}
        >
          <span className="quick-name">{place.name}</span>
          <span className="quiet">{place.about}</span>
          {place.trust !== undefined && <TrustMark trust={place.trust} />}
        </div>
      ))}
    </div>
  )
}

function Finder({ onClose }: { onClose: () => void }) {
  const roster = useQuery(api.roster.list.queryOptions())
  const [text, setText] = useState('')
  const [chosen, setChosen] = useState(0)
  const places = useMemo(() => findPlaces(text, roster.data?.rows ?? []), [text, roster.data])
  const open = (place: Place | undefined) => {
    if (!place) return
    onClose()
    go(place.href)
  }
  const onKeyDown = (event: KeyboardEvent) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key]
    if (step !== undefined) setChosen((now) => Math.min(Math.max(now + step, 0), places.length - 1))
    else if (event.key === 'Enter') open(places[chosen])
    else return
    event.preventDefault()
  }
  return (
    <>
      <input
        className="dialog-field"
        type="text"
        role="combobox"
        aria-label="Unit number, make, yard or screen"
        placeholder="Unit number, make, yard or screen"
        aria-expanded="true"
        aria-controls="quick-open-list"
        aria-autocomplete="list"
        aria-activedescendant={places.length > 0 ? `quick-open-${chosen}` : undefined}
        autoComplete="off"
        spellCheck={false}
        data-autofocus
        value={text}
        onChange={(event) => {
          setText(event.currentTarget.value)
          setChosen(0)
        }}
        onKeyDown={onKeyDown}
      />
      <PlaceList places={places} chosen={chosen} onOpen={open} />
      <output className="quick-foot">
        {roster.isError
          ? problemText(roster.error)
          : roster.isPending
            ? 'Reading the units…'
            : places.length === 0
              ? 'No unit and no screen matches.'
              : ''}
      </output>
    </>
  )
}

/** Jumps to a unit or a screen by a few letters. */
export function QuickOpen({ opened, onClose }: { opened: boolean; onClose: () => void }) {
  return (
    <Dialog opened={opened} onClose={onClose} title="Go to" size="lg" yOffset="10vh" returnFocus={false}>
      <Finder onClose={onClose} />
    </Dialog>
  )
}
