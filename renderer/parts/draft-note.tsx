import type { Draft } from '#renderer/parts/draft.ts'
import './draft-note.css'

/** Says that a form holds what was typed before and not saved, and offers to give it up. */
export function DraftNote({ draft }: { draft: Pick<Draft<unknown>, 'restored' | 'clear'> }) {
  if (!draft.restored) return null
  return (
    <p className="draft-note">
      <strong>Kept for you:</strong> this was typed before and not saved.{' '}
      <button type="button" className="link" onClick={draft.clear}>
        Give it up
      </button>
    </p>
  )
}
