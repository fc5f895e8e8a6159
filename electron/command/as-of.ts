import { parseAsOf } from '#core/fleet/instant.ts'
import { type CommandInput, type OptionShape, UsageError } from '#electron/command/command.ts'

export const asOfOption = {
  type: 'string',
  value: 'DATE',
  about: 'the day that is asked about; today where it is left out',
} as const satisfies OptionShape

/** The moment that `--as-of` names, ms UTC: the end of a day, or a time with its offset. Now where it was left out. */
export function readAsOf(input: CommandInput, option = 'as-of'): number {
  const text = input.textOr(option)
  if (text === undefined) return Date.now()
  const asOf = parseAsOf(text)
  if (asOf === undefined)
    throw new UsageError(`--${option} is "${text}"; a day such as 2026-03-01, or a time with its offset, is needed.`)
  return asOf
}
