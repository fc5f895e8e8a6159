import { useQuery } from '@tanstack/react-query'
import { useEffect, useState } from 'react'
import { api, client } from '#renderer/client/api.ts'

const waiting = new Map<string, string | null>()
const sending = new Set<string>()

/**
 * Leaves what was typed on the desk of the open file, so that it outlives the window; null takes it away. One at a time
 * under a name, so that an older text never arrives after a newer one.
 */
export async function leaveOnDesk(name: string, text: string | null): Promise<void> {
  waiting.set(name, text)
  if (sending.has(name)) return
  sending.add(name)
  try {
    while (waiting.has(name)) {
      const next = waiting.get(name) ?? null
      waiting.delete(name)
      await client.desk.leave({ name, text: next })
    }
  } catch {
    // The copy in this browser stands in until the core answers again; the next keystroke tries anew.
  } finally {
    sending.delete(name)
  }
}

/** What lies on the desk under a name; null also while the core does not answer, which the screen itself tells. */
export const readFromDesk = (name: string): Promise<string | null> =>
  client.desk.read({ name }).then(
    ({ text }) => text,
    () => null,
  )

/** What is typed into a form and not yet saved. */
export interface Draft<T> {
  /** As typed; the form's starting values while nothing is. */
  readonly value: T
  /** Whether anything is typed. */
  readonly typed: boolean
  /** Whether it was found again, typed before this form was opened. */
  readonly restored: boolean
  set(next: T): void
  /** Forgets what was typed: it is saved, or given up. */
  clear(): void
}

interface Kept<T> {
  readonly place: string
  /** null: given up or saved. */
  readonly typed: T | null
  readonly restored: boolean
}

function parse<T>(text: string | null): T | null {
  if (text === null) return null
  try {
    return JSON.parse(text) as T
  } catch {
    return null
  }
}

function keepHere(place: string, text: string | null): void {
  try {
    if (text === null) localStorage.removeItem(place)
    else localStorage.setItem(place, text)
  } catch {
    // A full or forbidden store of the browser: the desk of the file holds the text.
  }
}

/**
 * Keeps what is typed into a form until it is saved: in this browser at once, which outlives a core that has died, and
 * on the desk of the open file, which outlives the window. `name` tells the form and its subject apart from all others
 * of the fleet. A form that edits a record keeps in its values what the person saw of it too, so that a conflict is
 * still noticed.
 */
export function useDraft<T>(name: string, initial: T): Draft<T> {
  const file = useQuery(api.file.state.queryOptions({ select: (state) => state.file })).data
  const place = file === undefined ? undefined : `tareline-draft ${file} ${name}`
  const [kept, setKept] = useState<Kept<T> | null>(null)
  useEffect(() => {
    if (place === undefined) return
    let left = false
    // What was typed here meanwhile comes before what is found.
    const restore = (typed: T | null) => {
      if (!left && typed !== null) setKept((now) => (now?.place === place ? now : { place, typed, restored: true }))
    }
    const here = parse<T>(localStorage.getItem(place))
    if (here !== null) restore(here)
    else void readFromDesk(name).then((text) => restore(parse<T>(text)))
    return () => {
      left = true
    }
  }, [place, name])

  const own = kept !== null && kept.place === place ? kept : null
  const keep = (typed: T | null) => {
    // Nothing can be typed before the open file is known: no form is shown without its data.
    if (place === undefined) return
    const text = typed === null ? null : JSON.stringify(typed)
    keepHere(place, text)
    void leaveOnDesk(name, text)
    setKept({ place, typed, restored: typed !== null && own?.restored === true })
  }
  return {
    value: own?.typed ?? initial,
    typed: own !== null && own.typed !== null,
    restored: own?.restored ?? false,
    set: keep,
    clear: () => keep(null),
  }
}
