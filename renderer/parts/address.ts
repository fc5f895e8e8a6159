import { useSyncExternalStore } from 'react'

/**
 * Where the window stands: `#/screen/subject?filter=…`. It lives behind the `#`, so the same address works on
 * 127.0.0.1 and under the app's own scheme without a server that knows the screens.
 */
export interface Address {
  readonly screen: string
  readonly subject: string | null
  readonly params: URLSearchParams
}

type Params = Record<string, string | null | undefined>

const listeners = new Set<() => void>()
let moved = false
/** Whether the window has gone anywhere since it was opened. */
export const hasMoved = () => moved
const announce = () => {
  moved = true
  for (const listener of listeners) listener()
}

function subscribe(listener: () => void) {
  if (listeners.size === 0) addEventListener('popstate', announce)
  listeners.add(listener)
  return () => {
    listeners.delete(listener)
    if (listeners.size === 0) removeEventListener('popstate', announce)
  }
}

function decode(text: string): string {
  try {
    return decodeURIComponent(text)
  } catch {
    return text
  }
}

/** Reads the part of a URL from `#` on; an empty one is the page of the day. */
export function parseAddress(hash: string): Address {
  const [path = '', query = ''] = hash.replace(/^#\/?/, '').split('?', 2)
  const [screen = '', ...rest] = path.split('/')
  return {
    screen: screen || 'today',
    subject: rest.length > 0 ? decode(rest.join('/')) : null,
    params: new URLSearchParams(query),
  }
}

/** The link to a screen; parameters that are null or empty are left out. */
export function hrefOf(screen: string, subject: string | null = null, params: Params = {}): string {
  const query = new URLSearchParams()
  for (const [name, value] of Object.entries(params)) if (value) query.set(name, value)
  const text = query.toString()
  return `#/${screen}${subject === null ? '' : `/${encodeURIComponent(subject)}`}${text && `?${text}`}`
}

let rosterHref = hrefOf('roster')
/** The Roster as it was last seen, with its filters, sort and selection. */
export const lastRosterHref = () => rosterHref

/** Goes to a link; `replace` leaves no step for Back, as for typing in a search field. */
export function go(href: string, { replace = false } = {}): void {
  if (href === location.hash) return
  history[replace ? 'replaceState' : 'pushState'](null, '', href)
  announce()
}

/** Changes some parameters of the present address and keeps the rest. */
export function changeParams(changes: Params, { replace = false } = {}): void {
  const { screen, subject, params } = parseAddress(location.hash)
  go(hrefOf(screen, subject, { ...Object.fromEntries(params), ...changes }), { replace })
}

let seenHash = ''
let seen = parseAddress('')
function snapshot(): Address {
  if (location.hash !== seenHash) {
    seenHash = location.hash
    seen = parseAddress(seenHash)
    if (seen.screen === 'roster') rosterHref = seenHash
  }
  return seen
}

/** The present address; the component draws again when it changes. */
export const useAddress = (): Address => useSyncExternalStore(subscribe, snapshot)

/** The word that a parameter stands for; null for one that means nothing. */
export const oneOf = <T extends string>(words: readonly T[], text: string | null): T | null =>
  words.find((word) => word === text) ?? null

/** What is known of some facts: those that are null or empty are left out. */
export const known = <T extends object>(facts: T): { [K in keyof T]?: NonNullable<T[K]> } =>
  Object.fromEntries(Object.entries(facts).filter(([, fact]) => fact !== null && fact !== '')) as {
    [K in keyof T]?: NonNullable<T[K]>
  }
