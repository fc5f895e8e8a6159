import { expanded } from '#core/words/coverage.ts'
import { dayOf, localTimeOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { type Measure, type MeasureSet, measuresOfRule, storedMeasures, toShown } from '#core/words/measures.ts'
import { phrase } from '#core/words/phrase.ts'
import { figures } from '#core/words/numbers.ts'

/**
 * How a sentence writes what it is given in stored units: number, then unit, with no more digits than the figure bears.
 */
export interface Say {
  /** A weight that was worked out, lb, to its honest step: no onboard weight is known closer. */
  weight(lb: number): string
  /** A printed weight, lb, as it stands on the ticket. */
  ticket(lb: number): string
  /**
   * The 95 % interval of a weight with a standard uncertainty, lb: `± 720 lb`, never shown finer than the honest step.
   */
  plusMinus(uLb: number): string
  /** A pressure, psi. */
  pressure(psi: number): string
  /** Pressure for temperature, psi/°F. */
  pressurePerDegree(psiPerDegree: number): string
  /** Weight for pressure, lb/psi. */
  slope(lbPerPsi: number): string
  /** A height above sea level, ft. */
  elevation(ft: number): string
  /** A height difference of about 1,000 ft that is a round figure in the measures in use, ft. */
  readonly climbFt: number
  /**
   * The smallest step in which a table of pressures is read off a gauge, psi: a round figure in the measures in use.
   */
  readonly gaugeStepPsi: number
  /** A pressure that is a whole number of steps of a gauge, without its unit. */
  stepFigure(psi: number): string
  /** A pressure to load to at most, down to half a step of a gauge: the driver must not be led over it. */
  loadTo(psi: number): string
  /** The fleet's calendar day of a time, ms UTC. */
  day(at: number): string
  /** The same with the time that its clocks show: 2026-03-01 14:30. */
  moment(at: number): string
  /** A whole number of things. */
  number(value: number): string
  /** Percent without and with two decimals. */
  percent(value: number): string
  finePercent(value: number): string
  /** A ratio with two decimals. */
  ratio(value: number): string
  /** Digits without a unit after it, for a heading that has it: a weight to its honest step and its 95 % half-width. */
  weightFigure(lb: number): string
  plusMinusFigure(uLb: number): string
  readonly measures: MeasureSet
  /** Name of the fleet's time zone. */
  readonly zone: string
}

const digits = (places: number) =>
  figures({ minimumFractionDigits: places, maximumFractionDigits: places, signDisplay: 'negative' })
const whole = digits(0)
const hundredth = digits(2)
const twoFigures = figures({ maximumSignificantDigits: 2, signDisplay: 'negative' })
const tenth = figures({ maximumFractionDigits: 1 })
const threeFigures = figures({ maximumSignificantDigits: 3, signDisplay: 'negative' })

/** By symbol of the pressure, in its own unit. */
const gaugeSteps = { psi: 1, kPa: 10, bar: 0.1 } as const

const rounded = (shown: number, step: number) => Math.round(shown / step) * step

/** A value that was worked out, in shown units, to its honest step. */
export const estimateShown = (value: number, measure: Measure): number =>
  rounded(toShown(value, measure), measure.honestStep)

/** The half-width of the 95 % interval in shown units, to the honest step and never below it. */
export const plusMinusShown = (u: number, { factor, honestStep }: Measure): number =>
  rounded(Math.max(expanded(u) * factor, honestStep), honestStep)

const made = new Map<string, Say>()

/**
 * Says quantities in a set of measures and days in a time zone (its IANA name), both the fleet's; made once for each.
 */
export function sayIn(set: MeasureSet, zone: string): Say {
  const key = `${set.weight.symbol} ${set.pressure.symbol} ${zone}`
  const say = made.get(key) ?? makeSay(set, zone)
  made.set(key, say)
  return say
}

function makeSay(set: MeasureSet, zone: string): Say {
  const { weight, pressure, elevation } = set
  const pressureDigits = digits(pressure.digits)
  const weightFigure = (lb: number) => whole(estimateShown(lb, weight))
  const plusMinusFigure = (uLb: number) => whole(plusMinusShown(uLb, weight))
  const gaugeStepPsi = gaugeSteps[pressure.symbol as keyof typeof gaugeSteps] / pressure.factor
  const pressureText = (psi: number) => `${pressureDigits(toShown(psi, pressure))} ${pressure.symbol}`
  return {
    weightFigure,
    plusMinusFigure,
    weight: (lb) => `${weightFigure(lb)} ${weight.symbol}`,
    ticket: (lb) => `${whole(toShown(lb, weight))} ${weight.symbol}`,
    plusMinus: (uLb) => `± ${plusMinusFigure(uLb)} ${weight.symbol}`,
    pressure: pressureText,
    stepFigure: (psi) => tenth(toShown(psi, pressure)),
    loadTo: (psi) => pressureText((Math.floor(psi / (gaugeStepPsi / 2)) * gaugeStepPsi) / 2),
    pressurePerDegree: (psiPerDegree) =>
      phrase('{twoFigures} {pressureSymbol} for each {temperatureSymbol}', {
        twoFigures: twoFigures(toShown(psiPerDegree, pressure) / set.temperature.factor),
        pressureSymbol: pressure.symbol,
        temperatureSymbol: set.temperature.symbol,
      }),
    slope: (lbPerPsi) =>
      phrase('{lbPerPsi} {weightSymbol} per {pressureSymbol}', {
        lbPerPsi: threeFigures(toShown(lbPerPsi, set.slope)),
        weightSymbol: weight.symbol,
        pressureSymbol: pressure.symbol,
      }),
    elevation: (ft) => `${whole(toShown(ft, elevation))} ${elevation.symbol}`,
    climbFt: elevation.factor === 1 ? 1000 : 300 / elevation.factor,
    gaugeStepPsi,
    day: (at) => dayOf(at, zone),
    moment: (at) => localTimeOf(at, zone).replace('T', ' '),
    number: (value) => whole(value),
    percent: (value) => `${whole(value)} %`,
    finePercent: (value) => `${hundredth(value)} %`,
    ratio: (value) => hundredth(value),
    measures: set,
    zone,
  }
}

/** In the stored measures and the fleet's days: what commands and files of fixed format say. */
export const sayStored = (zone: string): Say => sayIn(storedMeasures, zone)

/** As the House Rules ask for: what screens and documents say. */
export const sayOfRules = ({ measures, zone }: Pick<HouseRules, 'measures' | 'zone'>): Say =>
  sayIn(measuresOfRule(measures), zone)
