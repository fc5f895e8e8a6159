import { type ReactNode, createContext, createElement, use } from 'react'
import {
  type Measure,
  type MeasureSet,
  type MeasuredKind,
  acceptedMeasure,
  measureSystems,
  measuresOf,
  measuresOfRule,
  readMeasure,
  toShown,
  typedText,
} from '#core/words/measures.ts'
import type { Result } from '#core/words/problem.ts'
import { type Say, plusMinusShown, sayOfRules } from '#core/words/say.ts'
import type { Range } from '#core/words/vocabulary.ts'

const nbsp = '\u00a0'
const minus = '\u2212'

/** How one quantity is written: stored values in (lb, psi, ft), text for a person out. */
export interface Quantity {
  readonly symbol: string
  /** A recorded value, without its unit. */
  figure(value: number): string
  /** A recorded value with its unit. */
  text(value: number): string
  /** A computed value, rounded to the step that its uncertainty deserves, with its unit. */
  estimate(value: number): string
  /** The same without its unit. */
  estimateFigure(value: number): string
  /** The expanded uncertainty (95 %), never shown finer than the honest step, without its unit. */
  plusMinusFigure(u: number): string
  plusMinus(u: number): string
  /** A difference with its sign, rounded to the honest step, without its unit. */
  difference(value: number): string
  /** A whole number of shown units with its sign, for an axis. */
  signed(shown: number): string
  /** A value in shown units, for the axes of a chart. */
  shown(value: number): number
  /** A recorded value as the text of a field. */
  typed(value: number): string
  /** What was typed into a field, in stored units, whichever unit stands behind it; or the sentence for the field. */
  read(text: string, range: Range): Result<number>
  /** What a field accepts, as a phrase. */
  accepted(range: Range): string
}

function numberText(digits: number): (value: number) => string {
  const formatter = new Intl.NumberFormat('en-US', { minimumFractionDigits: digits, maximumFractionDigits: digits })
  return (value) => formatter.format(value === 0 ? 0 : value).replace('-', minus)
}

const withSign = (value: number, write: (value: number) => string) => `${value > 0 ? '+' : ''}${write(value)}`

function quantity(measure: Measure, others: readonly Measure[]): Quantity {
  const { symbol, factor, digits, honestStep } = measure
  const write = numberText(digits)
  const shown = (value: number) => toShown(value, measure)
  const rounded = (value: number) => Math.round(value / honestStep) * honestStep
  const honest = (value: number) => write(rounded(shown(value)))
  const plusMinusFigure = (u: number) => `±${nbsp}${write(plusMinusShown(u, measure))}`
  return {
    symbol,
    figure: (value) => write(shown(value)),
    text: (value) => `${write(shown(value))}${nbsp}${symbol}`,
    estimateFigure: honest,
    estimate: (value) => `${honest(value)}${nbsp}${symbol}`,
    plusMinusFigure,
    plusMinus: (u) => `${plusMinusFigure(u)}${nbsp}${symbol}`,
    difference: (value) => withSign(rounded(value * factor), write),
    signed: (at) => withSign(at, write),
    shown,
    typed: (value) => typedText(value, measure),
    read: (text, range) => readMeasure(text, range, measure, others),
    accepted: (range) => acceptedMeasure(range, measure),
  }
}

/** The measures a fleet reads; every screen writes and reads its numbers through the one in use. */
export type Measures = Readonly<Record<MeasuredKind, Quantity>>

const writers = (set: MeasureSet): Measures =>
  Object.fromEntries(
    (Object.keys(set) as MeasuredKind[]).map((kind) => [kind, quantity(set[kind], measuresOf(kind))]),
  ) as unknown as Measures

const made = measureSystems.map((_, value) => writers(measuresOfRule(value)))
/**
 * The measures of a value of the House Rules' choice: the same object each time, so that what draws with them rests.
 */
export const measuresFor = (rule: number): Measures => made[rule] ?? (made[0] as Measures)

const says = measureSystems.map((_, measures) => sayOfRules({ measures }))

/** The value of the House Rules' choice. */
const RuleContext = createContext(0)
export const useMeasures = (): Measures => measuresFor(use(RuleContext))
/** How the sentences of core are said here. */
export const useSay = (): Say => says[use(RuleContext)] ?? (says[0] as Say)
/** Puts the measures of a value of the House Rules' choice in use below it. */
export const MeasuresInUse = ({ rule, children }: { rule: number; children: ReactNode }) =>
  createElement(RuleContext, { value: rule }, children)

export const count = numberText(0)
export const decimal = numberText(1)
export const ratio = numberText(2)

/** A share or rate, 0 to 1, in percent with one digit. */
export const share = (part: number): string =>
  part > 0 && part < 0.0005 ? `under 0.1${nbsp}%` : `${decimal(100 * part)}${nbsp}%`

/** A chance as a whole percentage that never says certain where it is not. */
export function chance(p: number): string {
  const percent = 100 * p
  if (percent < 1) return `under 1${nbsp}%`
  if (percent > 99) return `over 99${nbsp}%`
  return `${count(percent)}${nbsp}%`
}

/** Two digits. */
export const pad = (value: number) => String(value).padStart(2, '0')
const zoneName = new Intl.DateTimeFormat('en-US', { timeZoneName: 'short' })

/** The abbreviation of this computer's zone at a time, such as CST. */
const zoneOf = (at: Date): string =>
  zoneName.formatToParts(at).find(({ type }) => type === 'timeZoneName')?.value ?? 'local'

/** The local calendar day of a stored time, YYYY-MM-DD. */
export function day(instant: string): string {
  const at = new Date(instant)
  return `${at.getFullYear()}-${pad(at.getMonth() + 1)}-${pad(at.getDate())}`
}

/** A stored time in this computer's zone, which is named: 2026-03-01 14:30 CST. */
export function moment(instant: string): string {
  const at = new Date(instant)
  return `${day(instant)} ${pad(at.getHours())}:${pad(at.getMinutes())}${nbsp}${zoneOf(at)}`
}

const dayMs = 86_400_000

/** Whole days from one stored time to a later one. */
export const daysFrom = (instant: string, asOf: string): number =>
  Math.floor((Date.parse(asOf) - Date.parse(instant)) / dayMs)

/** Days as a phrase around the day asked about: `in 12 d`, `today`, `3 d ago`. */
export function awayInDays(dueOn: string, asOf: string): string {
  const days = Math.round((Date.parse(`${dueOn}T00:00:00Z`) - Date.parse(`${asOf.slice(0, 10)}T00:00:00Z`)) / dayMs)
  if (days === 0) return 'today'
  return days > 0 ? `in ${count(days)}${nbsp}d` : `${count(-days)}${nbsp}d ago`
}

/** A typed quantity in its stored unit; empty: nothing was typed. */
export type Typed =
  | { readonly kind: 'empty' }
  | { readonly kind: 'value'; readonly value: number }
  | { readonly kind: 'problem'; readonly message: string }

/**
 * A quantity as typed where nothing may stand as well: `82.5 psi`, `5,6 bar`, `33,940`; without a unit in the one in
 * use.
 */
export function typedQuantity(text: string, range: Range, quantity: Quantity): Typed {
  if (text.trim() === '') return { kind: 'empty' }
  const read = quantity.read(text, range)
  return read.ok ? { kind: 'value', value: read.value } : { kind: 'problem', message: read.problem.message }
}

/** The value, or null where nothing usable stands. */
export const typedValue = (typed: Typed): number | null => (typed.kind === 'value' ? typed.value : null)
export const typedProblem = (typed: Typed): string | null => (typed.kind === 'problem' ? typed.message : null)
