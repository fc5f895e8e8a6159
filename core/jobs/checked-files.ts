import { resolve } from 'node:path'
import { type Harm, noHarm } from '#core/store/look-over.ts'

/**
 * Files whose every page this program has had checked since it opened them, and checks under way: one opening needs one
 * check, however many threads then work on the file.
 */
const checks = new Map<string, Promise<Harm>>()

/**
 * Has a file checked, or joins the check under way. Errors: those of `check`; a file that failed may be checked again.
 */
export function checkOnce(name: string, check: (file: string) => Promise<Harm>): Promise<Harm> {
  const file = resolve(name)
  const known = checks.get(file)
  if (known) return known
  const started = check(file)
  checks.set(file, started)
  started.catch(() => checks.delete(file))
  return started
}

/** Notes that a file was found whole as it was opened. */
export const noteChecked = (name: string): void => {
  checks.set(resolve(name), Promise.resolve(noHarm))
}

/** Forgets a file that is closed here: others may change it from now on. */
export const forgetCheck = (name: string): void => {
  checks.delete(resolve(name))
}

/** Waits for the check of a file that is under way; whether it has been found whole. Errors: those of the check. */
export async function whenChecked(name: string): Promise<boolean> {
  const check = checks.get(resolve(name))
  await check
  return check !== undefined
}
