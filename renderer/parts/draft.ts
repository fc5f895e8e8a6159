import { createContext, use, useEffect, useEffectEvent, useState } from 'react'

/** Where what is typed and not yet saved lies, beside the open file: it outlives the window. */
export interface Desk {
  /** The open file; undefined until it is known. */
  readonly file: string | undefined
  /** null takes it away. */
  leave(name: string, text: string | null): Promise<void>
  read(name: string): Promise<string | null>
}

/** The desk in use; the frame puts it there. */
export const DeskContext = createContext<Desk>({
  file: undefined,
  leave: () => Promise.resolve(),
  read: () => Promise.resolve(null),
})

/** What is typed into a form and not yet saved. */
export interface Draft<T> {
  /** As typed; the form's starting values while nothing is. */
  readonly value: T
  /** Whether anything is typed. */
  readonly typed: boolean
  /** Whether it was found again, typed before this form was opened. */
  readonly restored: boolean
  set(next: T): void
  /** Forgets what was typed: it is saved, or discarded. */
  clear(): void
}

/** A draft that is kept under its name. */
export interface KeptDraft<T> extends Draft<T> {
  /** Whether it was looked for; until then it may only seem that nothing is typed. */
  readonly known: boolean
}

interface Kept<T> {
  /** undefined: typed before the open file was known. */
  readonly place: string | undefined
  /** null: nothing was found, or it is discarded or saved. */
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

/** What is typed lies in this browser under such a name. */
const placeOf = (file: string, name: string) => `tareline-draft ${file} ${name}`

/** Puts a text into a form that is not open, as if it had been typed there. */
export function leaveDraft({ file, leave }: Desk, name: string, text: string): void {
  if (file === undefined) return
  keepHere(placeOf(file, name), text)
  void leave(name, text)
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
export function useDraft<T>(name: string, initial: T): KeptDraft<T> {
  const { file, leave, read } = use(DeskContext)
  const place = file === undefined ? undefined : placeOf(file, name)
  const [kept, setKept] = useState<Kept<T> | null>(null)
  const own = kept !== null && (kept.place === place || kept.place === undefined) ? kept : null
  const keep = (typed: T | null) => {
    if (place !== undefined) {
      const text = typed === null ? null : JSON.stringify(typed)
      keepHere(place, text)
      void leave(name, text)
    }
    setKept({ place, typed, restored: typed !== null && own?.restored === true })
  }
  const arrive = useEffectEvent(() => {
    if (own !== null) keep(own.typed)
  })
  useEffect(() => {
    if (place === undefined) return
    let left = false
    // What was typed here meanwhile comes before what is found.
    arrive()
    const restore = (typed: T | null) => {
      if (!left) setKept((now) => (now?.place === place ? now : { place, typed, restored: typed !== null }))
    }
    const here = parse<T>(localStorage.getItem(place))
    if (here !== null) restore(here)
    else void read(name).then((text) => restore(parse<T>(text)))
    return () => {
      left = true
    }
  }, [place, name, read])
  return {
    value: own?.typed ?? initial,
    known: own !== null,
    typed: own !== null && own.typed !== null,
    restored: own?.restored ?? false,
    set: keep,
    clear: () => keep(null),
  }
}
