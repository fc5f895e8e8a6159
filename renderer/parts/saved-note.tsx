import type { ReactNode } from 'react'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import './saved-note.css'

/** What became of a save that may have had to wait on this device. */
export type SavedNoteOf =
  | { readonly kind: 'kept' }
  | { readonly kind: 'saved'; readonly clockOffMs: number; readonly notes: readonly string[] }

const minuteMs = 60_000
const hourMs = 60 * minuteMs

/** How far two clocks are apart, as people say it. */
const apart = (ms: number): string =>
  Math.abs(ms) < 2 * hourMs
    ? phrase('{number, plural, one {# minute} other {# minutes}}', { number: Math.round(Math.abs(ms) / minuteMs) })
    : phrase('{number, plural, one {# hour} other {# hours}}', { number: Math.round(Math.abs(ms) / hourMs) })

const clockWords = (offMs: number): string =>
  offMs > 0
    ? phrase(
        'The clock of this device is {apart} ahead of the house’s. The weighing has the time of the house; set the clock right.',
        { apart: apart(offMs) },
      )
    : phrase(
        'The clock of this device is {apart} behind the house’s. The weighing has the time of the house; set the clock right.',
        { apart: apart(offMs) },
      )

/** Says what became of a save; children: where it stands now. */
export function SavedNote({ outcome, children }: { outcome: SavedNoteOf; children: ReactNode }) {
  if (outcome.kind === 'kept')
    return (
      <p className="saved-note" data-kind="kept">
        <Phrase
          text="<strong>Kept here, not yet sent.</strong> The house does not answer just now. It is sent by itself, once, as soon as the house is back; you may go on, or close this page."
          with={{ strong: (words) => <strong>{words}</strong> }}
        />
      </p>
    )
  const { clockOffMs, notes } = outcome
  return (
    <div className="saved-note" data-kind="saved">
      <p>{children}</p>
      {clockOffMs !== 0 && <p>{clockWords(clockOffMs)}</p>}
      {notes.map((note) => (
        <p key={note}>{note}</p>
      ))}
    </div>
  )
}
