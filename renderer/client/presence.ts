import type { News } from '#core/contracts/file.ts'
import { makeListeners } from '#renderer/client/listeners.ts'

export type Change = News['changes'][number]

/** A change that this window was told of, and when by its own clock, ms. */
export interface HeardChange extends Change {
  readonly heardAt: number
}

/** So many changes are remembered, the latest first. */
const mostChanges = 20

let present: News['present'] = []
let changes: readonly HeardChange[] = []
const { subscribe, tell } = makeListeners()

/** Which forms of records somebody has open, as was told last; for `useSyncExternalStore`. */
export const presence = { subscribe, now: () => present }
/** What was changed while this window looked, by whomever. */
export const changesHeard = { subscribe, now: () => changes }

/** Takes in who has what open and who has changed what. */
export function takePresence(news: Pick<News, 'present' | 'changes'>): void {
  const isSame = JSON.stringify(news.present) === JSON.stringify(present)
  if (isSame && news.changes.length === 0) return
  if (!isSame) present = news.present
  const heardAt = performance.now()
  if (news.changes.length > 0)
    changes = [...news.changes.map((change) => ({ ...change, heardAt })), ...changes].slice(0, mostChanges)
  tell()
}
