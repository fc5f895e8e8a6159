import type { FileState } from '#core/contracts/file.ts'
import { useMeasures } from '#renderer/parts/format.ts'

/** Says above every screen that the open file is only looked at; nothing while it is open for changes. */
export function LookStrip({ state }: { state: FileState | undefined }) {
  const { times } = useMeasures()
  if (!state || state.lookedAt === null) return null
  return (
    <aside className="look" aria-label="Open to look at only">
      <strong>Open to look at only.</strong> {state.file.split(/[\\/]/).at(-1)} as it was on{' '}
      {times.moment(state.lookedAt)}. Nothing can be saved: to work on it, copy it to a folder that you may change and
      open that copy.
    </aside>
  )
}
