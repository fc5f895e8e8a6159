import { expanded } from '#core/words/coverage.ts'
import { wordOf } from '#core/words/listed-words.ts'
import type { FindingView } from '#core/contracts/unit.ts'
import { type Measures, type Quantity, count, decimal, ratio } from '#renderer/parts/format.ts'
import { phrase } from '#core/words/phrase.ts'

/**
 * What the figures of findings are called on the sheet, where the name in the command line's output is not plain words.
 */
const findingLabels: Readonly<Record<string, string>> = {
  calibrations: phrase('calibrations'),
  points: phrase('points'),
  readings: phrase('readings'),
  circuits: phrase('circuits'),
  event: phrase('work'),
  events: phrase('pieces of work since'),
  with_group: phrase('weighed with'),
  misses_by_psi: phrase('misses with the air, up to'),
  age_days: phrase('age'),
  limit_days: phrase('oldest that counts'),
  days_left: phrase('days left'),
  predicted_life_days: phrase('predicted life'),
  risk_percent: phrase('risk before the next visit'),
  limit_percent: phrase('largest risk'),
  u_limit_lb: phrase('weight at the limit'),
  expanded_lb: phrase('good to, 95 %'),
  tolerance_lb: phrase('tolerance'),
  tolerance_percent: phrase('tolerance'),
  checks: phrase('check weighings'),
  recent_miss_lb: phrase('last three checks, mean miss'),
  recent_miss_psi: phrase('the same as pressure'),
  trend_lb_per_month: phrase('trend'),
  cusum: phrase('sum of misses'),
  cusum_side: phrase('side'),
  kind: phrase('looks like'),
  probability: phrase('probability'),
  since_likely: phrase('since, most likely'),
  since_from: phrase('since, not before (95 %)'),
  since_until: phrase('since, not after (95 %)'),
  silent_days: phrase('silent for'),
  usual_days: phrase('usual gap between readings'),
  circuits_read: phrase('circuits read'),
  psi_per_degree_f: phrase('for each °F, psi'),
  u_psi_per_degree_f: phrase('its uncertainty, psi'),
  miss_lb: phrase('miss'),
  z: phrase('miss over its uncertainty'),
  psi: phrase('pressure read'),
  weight_lb: phrase('scale showed'),
  confidence_percent: phrase('band'),
  miss_per_air_psi: phrase('miss for each unit of air pressure'),
  slope_lb_per_psi: phrase('slope'),
  hardware_lb_per_psi: phrase('air springs times area'),
  ratio: phrase('slope over that'),
  low: phrase('smallest ratio'),
  high: phrase('largest ratio'),
  family_slope_lb_per_psi: phrase('slope of its family'),
  slope_z: phrase('slope, distance from its family'),
  intercept_lb: phrase('weight at no pressure'),
  family_intercept_lb: phrase('the same of its family'),
  intercept_z: phrase('weight at no pressure, distance from its family'),
  family_lines: phrase('lines in the family'),
  calibrated_with: phrase('lift axle at calibration'),
  read_with: phrase('lift axle since'),
  calibrated_on: phrase('calibrated'),
  before_on: phrase('line before'),
  span_lb: phrase('spread of the weights'),
  heaviest_lb: phrase('heaviest'),
  limit_lb: phrase('limit'),
  span_asked_percent: phrase('spread asked, of the limit'),
  top_asked_percent: phrase('heaviest asked, of the limit'),
  chi2: 'χ²',
  chi2_limit: phrase('χ² bound'),
  chi2_95: phrase('χ² 95 % bound'),
  dof: phrase('degrees of freedom'),
  widened_by: phrase('uncertainty widened by'),
  worst_residual_lb: phrase('worst point off the line'),
  worst_weight_lb: phrase('its weight'),
  worst_pressure_psi: phrase('its pressure'),
  at_empty_lb: phrase('difference at empty'),
  at_limit_lb: phrase('difference at the limit'),
  bias_percent: phrase('bias'),
  groups: phrase('axle groups'),
  difference_psi: phrase('difference'),
  mean_psi: phrase('mean of the readings'),
  allowed_psi: phrase('allowed'),
  allowed_lb: phrase('allowed'),
  difference_lb: phrase('difference'),
  typed_psi: phrase('typed'),
  fits_psi: phrase('would fit'),
  typed_lb: phrase('typed'),
  fits_lb: phrase('would fit'),
  unit: phrase('unit it fits'),
  serial: phrase('serial'),
  cell: phrase('cell'),
  sum_lb: phrase('axle weights together'),
  gross_lb: phrase('gross'),
  weights: phrase('axle weights'),
  installed_on: phrase('cell put in'),
  swap_by: phrase('swap by'),
  next_visit: phrase('next visit'),
}

/** Words that stand for a figure, where the command line's are short. */
const findingWords: Readonly<Record<string, string>> = {
  'cusum_side high': phrase('the scale shows more'),
  'cusum_side low': phrase('the scale shows less'),
  'kind offset': phrase('a shift at every load'),
  'kind slope': phrase('more so the heavier it stands'),
  'kind drift': phrase('a drift that goes on'),
}

/** Whose values are words of a closed list, and whose are moments. */
const listedFigures: ReadonlySet<string> = new Set(['event', 'calibrated_with', 'read_with'])
const momentFigures: ReadonlySet<string> = new Set(['since_likely', 'since_from', 'since_until'])

/** Weights and pressures that a person wrote down or set: shown as they are, while computed ones are rounded. */
const recordedFigures: ReadonlySet<string> = new Set([
  'weight_lb',
  'psi',
  'typed_lb',
  'typed_psi',
  'fits_lb',
  'sum_lb',
  'gross_lb',
  'difference_lb',
  'limit_lb',
  'worst_weight_lb',
  'worst_pressure_psi',
])

/** Differences: shown with their sign. */
const signedFigures: ReadonlySet<string> = new Set([
  'recent_miss_lb',
  'recent_miss_psi',
  'trend_lb_per_month',
  'miss_lb',
  'worst_residual_lb',
  'at_empty_lb',
  'at_limit_lb',
  'bias_percent',
])

/** The figure whose standard uncertainty another one is. */
const figureOfUncertainty: Readonly<Record<string, string>> = {
  u_miss_lb: 'miss_lb',
  u_empty_lb: 'at_empty_lb',
  u_limit_lb: 'at_limit_lb',
  u_percent: 'bias_percent',
  u: 'miss_per_air_psi',
}

interface Labelled {
  readonly label: string
  readonly text: string
}

interface Written {
  readonly figure: (value: number) => string
  readonly plusMinus: (u: number) => string
  readonly unit: string
}

const nbsp = '\u00a0'
const minus = (text: string) => text.replace('-', '\u2212')
const plain = (value: number) => (Number.isInteger(value) ? count(value) : minus(ratio(value)))

function quantity(name: string, { symbol, figure, estimateFigure, difference, plusMinusFigure }: Quantity): Written {
  return {
    unit: symbol,
    plusMinus: plusMinusFigure,
    figure: signedFigures.has(name) ? difference : recordedFigures.has(name) ? figure : estimateFigure,
  }
}

function percentage(name: string): Written {
  // Chances just short of certain keep their digits; everything else is known to a tenth, and a bias to a hundredth.
  const write =
    name === 'bias_percent' ? ratio : (value: number) => (value > 99 && value < 100 ? String(value) : decimal(value))
  return {
    unit: '%',
    plusMinus: (u) => `±${nbsp}${ratio(expanded(u))}`,
    figure: (value) => `${signedFigures.has(name) && value > 0 ? '+' : ''}${write(value)}`,
  }
}

/** How the value of a name is written: the end of the name says the unit. */
function writing(name: string, { weight, pressure, slope, length }: Measures): Written {
  if (name.endsWith('_lb_per_psi')) return quantity(name, slope)
  if (name.endsWith('_lb_per_month'))
    return { ...quantity(name, weight), unit: phrase('{weightSymbol} a month', { weightSymbol: weight.symbol }) }
  if (name === 'miss_per_air_psi') return { figure: plain, plusMinus: (u) => `±${nbsp}${ratio(expanded(u))}`, unit: '' }
  if (name.endsWith('_lb')) return quantity(name, weight)
  if (name.endsWith('psi')) return quantity(name, pressure)
  if (name.endsWith('_ft')) return quantity(name, length)
  if (name.endsWith('_percent')) return percentage(name)
  if (name.endsWith('_days')) return { figure: count, plusMinus: (u) => `±${nbsp}${decimal(expanded(u))}`, unit: 'd' }
  if (name === 'cusum') return { figure: decimal, plusMinus: plain, unit: '' }
  if (name === 'widened_by') return { figure: (value) => `×${nbsp}${ratio(value)}`, plusMinus: plain, unit: '' }
  return { figure: plain, plusMinus: (u) => `±${nbsp}${plain(expanded(u))}`, unit: '' }
}

const labelOf = (name: string, { elevation }: Measures): string =>
  name === 'per_1000_ft_psi'
    ? phrase('{text} of elevation', { text: elevation.text(1000) })
    : (findingLabels[name] ?? name.replace(/_(lb|psi|ft|percent|days|on)$/, '').replaceAll('_', ' '))

function textOf(name: string, value: string, { times }: Measures): string {
  if (momentFigures.has(name)) return times.day(value)
  return listedFigures.has(name) ? wordOf(value) : (findingWords[`${name} ${value}`] ?? value)
}

/** A finding's figures as label and text, each with its unit, and with ± 2u where its uncertainty is among them. */
export function findingNumbers(numbers: FindingView['numbers'], measures: Measures): Labelled[] {
  const uncertainty = new Map(
    Object.entries(figureOfUncertainty).flatMap(([name, of]) =>
      typeof numbers[name] === 'number' && typeof numbers[of] === 'number' ? [[of, name] as const] : [],
    ),
  )
  const told = new Set(uncertainty.values())
  return Object.entries(numbers).flatMap(([name, value]): Labelled[] => {
    if (value === null || told.has(name)) return []
    const label = labelOf(name, measures)
    if (typeof value === 'string') return [{ label, text: textOf(name, value, measures) }]
    const { figure, plusMinus, unit } = writing(name, measures)
    const end = unit && `${nbsp}${unit}`
    const u = numbers[uncertainty.get(name) ?? '']
    if (typeof u === 'number') return [{ label, text: `${figure(value)} ${plusMinus(u)}${end} (95${nbsp}%)` }]
    // An uncertainty without its figure says how well something is known.
    if (name in figureOfUncertainty) return [{ label, text: `${plusMinus(value)}${end} (95${nbsp}%)` }]
    return [{ label, text: `${figure(value)}${end}` }]
  })
}
