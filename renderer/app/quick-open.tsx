import { Modal } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { type KeyboardEvent, useMemo, useState } from 'react'
import { findPlaces, type Place } from '#renderer/app/find-places.ts'
import { api } from '#renderer/client/api.ts'
import { go } from '#renderer/parts/address.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { TrustMark } from '#renderer/parts/trust-mark.tsx'
import './dialog-field.css'
import './quick-open.css'

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
    <Modal opened={opened} onClose={onClose} title="Go to" size="lg" yOffset="10vh" returnFocus={false}>
      {opened && <Finder onClose={onClose} />}
    </Modal>
  )
}
