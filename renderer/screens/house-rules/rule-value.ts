import type { RuleRow } from '#core/api/contract.ts'
import { parseTypedNumber } from '#core/fleet/typed-number.ts'
import type { Measures, Quantity } from '#renderer/parts/format.ts'

const digits = new Intl.NumberFormat('en-US', { maximumFractionDigits: 6 })

type Read = { readonly ok: true; readonly value: number } | { readonly ok: false; readonly message: string }

/** How a rule's value is written and read: in the measures in use, or as the words of its choices. */
export interface RuleWriter {
  readonly unit: string
  /** As it stands in its field. */
  write(value: number): string
  withUnit(value: number): string
  readonly accepted: string
  /** Reads what was typed: a number in the rule's range, with or without commas between thousands. */
  read(typed: string): Read
}

const measured: Readonly<Record<string, keyof Measures>> = { lb: 'weight', psi: 'pressure' }

function inMeasures(rule: RuleRow, stored: string, quantity: Quantity): RuleWriter {
  const range = { min: rule.min, max: rule.max, unit: stored }
  const unit = rule.unit.replace(stored, quantity.symbol)
  const write = (value: number) => digits.format(Number(quantity.typed(value)))
  return {
    unit,
    write,
    withUnit: (value) => `${write(value)}\u00a0${unit}`,
    accepted: quantity.accepted(range),
    read: (typed) => {
      const read = quantity.read(typed, range)
      return read.ok ? read : { ok: false, message: read.problem.message }
    },
  }
}

function plain(rule: RuleRow): RuleWriter {
  const { unit, min, max, choices } = rule
  const write = (value: number) => choices?.[value] ?? digits.format(value)
  const withUnit = (value: number) => `${write(value)}${unit && `\u00a0${unit}`}`
  const accepted = choices ? choices.join('; ') : `${write(min)} to ${withUnit(max)}`
  const refuse = (what: string): Read => ({ ok: false, message: `${what}; ${accepted} is accepted.` })
  return {
    unit,
    write,
    withUnit,
    accepted,
    read: (typed) => {
      if (typed.trim() === '') return refuse('The value is empty')
      const chosen = choices?.indexOf(typed) ?? -1
      const value = chosen >= 0 ? chosen : parseTypedNumber(typed)
      if (value === undefined) return refuse(`“${typed.trim()}” is not a number`)
      return value < min || value > max ? refuse(`${withUnit(value)} is out of range`) : { ok: true, value }
    },
  }
}

export function ruleWriter(rule: RuleRow, measures: Measures): RuleWriter {
  const stored = rule.unit.split(' ', 1)[0] ?? ''
  const kind = measured[stored]
  return kind === undefined ? plain(rule) : inMeasures(rule, stored, measures[kind])
}
