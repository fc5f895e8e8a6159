import type { Store } from '#core/store/open.ts'
import { unitByNumber } from '#core/store/unit-sheet.ts'

/** The ids of units by their numbers, each once. Errors: TarelineError `no-such-unit`. */
export async function findUnits({ db }: Store, numbers: readonly string[]): Promise<number[]> {
  const ids: number[] = []
  for (const number of new Set(numbers)) ids.push((await unitByNumber(db, number)).id)
  return ids
}
