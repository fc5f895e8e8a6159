import type { RuleRow } from '#core/api/contract.ts'

const digits = new Intl.NumberFormat('en-US', { maximumFractionDigits: 6 })

/** A rule's value as it stands in its field. */
export const writeValue = (value: number): string => digits.format(value)

const withUnit = (value: number, { unit }: RuleRow) => `${digits.format(value)}${unit && `\u00a0${unit}`}`

export const acceptedText = (rule: RuleRow): string => `${digits.format(rule.min)} to ${withUnit(rule.max, rule)}`

type Read = { readonly ok: true; readonly value: number } | { readonly ok: false; readonly message: string }

/** Reads what was typed for a rule: a number in its range, with or without commas between thousands. */
export function readValue(typed: string, rule: RuleRow): Read {
  const text = typed.trim()
  const refuse = (what: string): Read => ({ ok: false, message: `${what}; ${acceptedText(rule)} is accepted.` })
  if (text === '') return refuse('The value is empty')
  if (!/^-?(\d+|\d{1,3}(,\d{3})+)?(\.\d+)?$/.test(text) || !/\d/.test(text)) return refuse(`“${text}” is not a number`)
  const value = Number(text.replaceAll(',', ''))
  return value < rule.min || value > rule.max ? refuse(`${withUnit(value, rule)} is out of range`) : { ok: true, value }
}
