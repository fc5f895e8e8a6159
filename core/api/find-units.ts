import { TarelineError } from '#core/fleet/problem.ts'
import type { Store } from '#core/store/open.ts'
import { findUnit } from '#core/store/unit-sheet.ts'

/** The ids of units by their numbers, each once. Errors: TarelineError `no-such-unit`. */
export async function findUnits({ db }: Store, numbers: readonly string[]): Promise<number[]> {
  const ids: number[] = []
  for (const number of new Set(numbers)) {
    const unit = await findUnit(db, number)
    if (!unit) throw new TarelineError('no-such-unit', `There is no unit ${number}. Look for it on the Roster.`)
    ids.push(unit.id)
  }
  return ids
}
