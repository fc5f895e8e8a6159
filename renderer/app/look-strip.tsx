import type { FileState } from '#core/contracts/file.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

/** Says above every screen that the open file is only looked at; nothing while it is open for changes. */
export function LookStrip({ state }: { state: FileState | undefined }) {
  const { times } = useMeasures()
  if (!state || state.lookedAt === null) return null
  return (
    <aside className="look" aria-label={phrase('Open to look at only')}>
      <Phrase
        text="<strong>Open to look at only.</strong> {split} as it was on {lookedAt}. Nothing can be saved: to work on it, copy it to a folder that you may change and open that copy."
        with={{
          strong: (words) => <strong>{words}</strong>,
          split: state.file.split(/[\\/]/).at(-1),
          lookedAt: times.moment(state.lookedAt),
        }}
      />
    </aside>
  )
}
