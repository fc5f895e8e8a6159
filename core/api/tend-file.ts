import { statSync } from 'node:fs'
import { isAtWork, sealInThread } from '#core/jobs/in-thread.ts'
import type { Store } from '#core/store/open.ts'
import { hasSeals, isToSeal } from '#core/store/seals.ts'
import { foldLogNow } from '#core/store/whole-copy.ts'

/** Tends an open fleet file while nobody writes to it. */
export interface Tending {
  /**
   * Does what is due: seals what was written, then moves the write-ahead log into the file, so that a plain copy of the
   * file has every save. Nothing where somebody wrote just now. Answers whether it wrote to the file.
   */
  tend(): Promise<boolean>
}

/** Judgements and weights are sealed again only after so many times what it took. */
const madeRest = 50

/** quietMs: how long nobody must have written. */
export function tendFile({ file, raw }: Store, quietMs: number): Tending {
  /** The log as it was when all of it was in the file. */
  let folded = ''
  let nextMadeAt = 0
  let sealing: Promise<void> | undefined

  const seal = async (withMade: boolean): Promise<void> => {
    const began = performance.now()
    await sealInThread(file, withMade)
    if (withMade) nextMadeAt = performance.now() + madeRest * (performance.now() - began)
  }
  return {
    tend: async () => {
      const log = statSync(`${file}-wal`, { throwIfNoEntry: false })
      if (sealing || !log || log.size === 0 || isAtWork(file)) return false
      // The clock of the disk, whatever the program's own says; one that was set back makes nobody wait.
      const quiet = Date.now() - log.mtimeMs
      if (quiet >= 0 && quiet < quietMs) return false
      const state = `${log.size} ${log.mtimeMs}`
      if (state === folded) return false
      const withMade = performance.now() >= nextMadeAt
      if (hasSeals(raw) && isToSeal(raw, { withMade })) {
        sealing = seal(withMade)
        try {
          await sealing
        } finally {
          sealing = undefined
        }
        return true
      }
      if (foldLogNow(raw)) {
        const left = statSync(`${file}-wal`, { throwIfNoEntry: false })
        folded = left ? `${left.size} ${left.mtimeMs}` : ''
      }
      return true
    },
  }
}
