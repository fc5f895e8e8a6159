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
import { type Times, timesIn } from '#renderer/parts/times.ts'
import { phrase } from '#core/words/phrase.ts'
import { figures } from '#core/words/numbers.ts'

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
  const write = figures({ minimumFractionDigits: digits, maximumFractionDigits: digits })
  return (value) => write(value === 0 ? 0 : value).replace('-', minus)
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

/**
 * The measures a fleet reads, its clock, and how sentences are said in both; every screen writes and reads its numbers
 * and times through the ones in use.
 */
export type Measures = Readonly<Record<MeasuredKind, Quantity>> & { readonly times: Times; readonly say: Say }

const writers = (set: MeasureSet) =>
  Object.fromEntries(
    (Object.keys(set) as MeasuredKind[]).map((kind) => [kind, quantity(set[kind], measuresOf(kind))]),
  ) as unknown as Readonly<Record<MeasuredKind, Quantity>>

const systems = measureSystems.map((_, value) => writers(measuresOfRule(value)))
const made = new Map<string, Measures>()
/**
 * The measures of a value of the House Rules' choice, and times in the zone: the same object each time, so that what
 * draws with them rests.
 */
export function measuresFor(rule: number, zone: string): Measures {
  const key = `${rule} ${zone}`
  const measures = made.get(key) ?? {
    ...((systems[rule] ?? systems[0]) as (typeof systems)[number]),
    times: timesIn(zone),
    say: sayOfRules({ measures: rule, zone }),
  }
  made.set(key, measures)
  return measures
}

const MeasuresContext = createContext(measuresFor(0, 'UTC'))
export const useMeasures = (): Measures => use(MeasuresContext)
/** How the sentences of core are said here. */
export const useSay = (): Say => useMeasures().say
/** Puts the measures of a value of the House Rules' choice, and the fleet's zone, in use below it. */
export const MeasuresInUse = ({ rule, zone, children }: { rule: number; zone: string; children: ReactNode }) =>
  createElement(MeasuresContext, { value: measuresFor(rule, zone) }, children)

export const count = numberText(0)
/** So many of something: `1 row`, `1,200 rows`. */
export const counted = (number: number, one: string, more = `${one}s`): string =>
  `${count(number)} ${number === 1 ? one : more}`
export const decimal = numberText(1)
export const ratio = numberText(2)

/** A share or rate, 0 to 1, in percent with one digit. */
export const share = (part: number): string =>
  part > 0 && part < 0.0005 ? phrase('under 0.1\u00a0%') : `${decimal(100 * part)}${nbsp}%`

/** A chance as a whole percentage that never says certain where it is not. */
export function chance(p: number): string {
  const percent = 100 * p
  if (percent < 1) return phrase('under 1\u00a0%')
  if (percent > 99) return phrase('over 99\u00a0%')
  return `${count(percent)}${nbsp}%`
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
/** What is said of a value; null where none stands. */
export const ifValue = <T>(typed: Typed | undefined, of: (value: number) => T): T | null =>
  typed?.kind === 'value' ? of(typed.value) : null
export const typedProblem = (typed: Typed): string | null => (typed.kind === 'problem' ? typed.message : null)
