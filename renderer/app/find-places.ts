import type { RosterRow } from '#core/api/contract.ts'
import { screens } from '#renderer/app/screens.tsx'
import { hrefOf } from '#renderer/parts/address.ts'

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
