import { createContext, use } from 'react'

const nbsp = '\u00a0'
const minus = '\u2212'

interface QuantityDefinition {
  readonly symbol: string
  /** Shown value = stored value × factor. */
  readonly factor: number
  readonly digits: number
  /** Smallest step that an estimate of this quantity is shown in, in shown units. */
  readonly honestStep: number
}

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
  /** The expanded uncertainty ± 2u (95 %), never shown finer than the honest step, without its unit. */
  plusMinusFigure(u: number): string
  plusMinus(u: number): string
  /** A difference with its sign, rounded to the honest step, without its unit. */
  difference(value: number): string
  /** A whole number of shown units with its sign, for an axis. */
  signed(shown: number): string
  /** A value in shown units, for the axes of a chart. */
  shown(value: number): number
}

function numberText(digits: number): (value: number) => string {
  const formatter = new Intl.NumberFormat('en-US', { minimumFractionDigits: digits, maximumFractionDigits: digits })
  return (value) => formatter.format(value === 0 ? 0 : value).replace('-', minus)
}

const withSign = (value: number, write: (value: number) => string) => `${value > 0 ? '+' : ''}${write(value)}`

function quantity({ symbol, factor, digits, honestStep }: QuantityDefinition): Quantity {
  const write = numberText(digits)
  const honest = (value: number) => write(Math.round((value * factor) / honestStep) * honestStep)
  const plusMinusFigure = (u: number) => `±${nbsp}${honest(Math.max(2 * u, honestStep / factor))}`
  return {
    symbol,
    figure: (value) => write(value * factor),
    text: (value) => `${write(value * factor)}${nbsp}${symbol}`,
    estimateFigure: honest,
    estimate: (value) => `${honest(value)}${nbsp}${symbol}`,
    plusMinusFigure,
    plusMinus: (u) => `${plusMinusFigure(u)}${nbsp}${symbol}`,
    difference: (value) => withSign(Math.round((value * factor) / honestStep) * honestStep, write),
    signed: (shown) => withSign(shown, write),
    shown: (value) => value * factor,
  }
}

/** The measures a fleet reads; every screen writes its numbers through the one in use. */
export interface Measures {
  readonly weight: Quantity
  readonly pressure: Quantity
  readonly slope: Quantity
  readonly length: Quantity
  readonly height: Quantity
  readonly area: Quantity
}

const pounds: Measures = {
  weight: quantity({ symbol: 'lb', factor: 1, digits: 0, honestStep: 10 }),
  pressure: quantity({ symbol: 'psi', factor: 1, digits: 1, honestStep: 0.1 }),
  slope: quantity({ symbol: 'lb/psi', factor: 1, digits: 1, honestStep: 0.1 }),
  length: quantity({ symbol: 'ft', factor: 1, digits: 1, honestStep: 0.1 }),
  height: quantity({ symbol: 'in', factor: 1, digits: 1, honestStep: 0.1 }),
  area: quantity({ symbol: 'in²', factor: 1, digits: 1, honestStep: 0.1 }),
}

const MeasuresContext = createContext(pounds)
export const useMeasures = (): Measures => use(MeasuresContext)

export const count = numberText(0)
export const decimal = numberText(1)
export const ratio = numberText(2)

const pad = (value: number) => String(value).padStart(2, '0')
const zoneName = new Intl.DateTimeFormat('en-US', { timeZoneName: 'short' })

/** The abbreviation of this computer's zone at a time, such as CST. */
export const zoneOf = (at: Date): string => zoneName.formatToParts(at).find(({ type }) => type === 'timeZoneName')?.value ?? 'local'

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
export const daysFrom = (instant: string, asOf: string): number => Math.floor((Date.parse(asOf) - Date.parse(instant)) / dayMs)

/** Days as a phrase around the day asked about: `in 12 d`, `today`, `3 d ago`. */
export function awayInDays(dueOn: string, asOf: string): string {
  const days = Math.round((Date.parse(`${dueOn}T00:00:00Z`) - Date.parse(`${asOf.slice(0, 10)}T00:00:00Z`)) / dayMs)
  if (days === 0) return 'today'
  return days > 0 ? `in ${count(days)}${nbsp}d` : `${count(-days)}${nbsp}d ago`
}
