import { phrase } from '#core/words/phrase.ts'

/** The address tells units without a yard from all yards. */
export const noYard = '-'
export const yardOf = (param: string | null): string | null | undefined =>
  param === null ? undefined : param === noYard ? null : param
export const yardName = (yard: string | null): string => yard ?? phrase('no yard')
