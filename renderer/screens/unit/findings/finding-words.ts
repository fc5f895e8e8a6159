import { expanded } from '#core/words/coverage.ts'
import type { FindingView } from '#core/contracts/unit.ts'
import { type Measures, type Quantity, count, decimal, ratio } from '#renderer/parts/format.ts'

/**
 * What the figures of findings are called on the sheet, where the name in the command line's output is not plain words.
 */
const findingLabels: Readonly<Record<string, string>> = {
  age_days: 'age',
  limit_days: 'oldest that counts',
  days_left: 'days left',
  predicted_life_days: 'predicted life',
  risk_percent: 'risk before the next visit',
  limit_percent: 'largest risk',
  u_limit_lb: 'weight at the limit',
  expanded_lb: 'good to, 95 %',
  tolerance_lb: 'tolerance',
  tolerance_percent: 'tolerance',
  checks: 'check weighings',
  recent_miss_lb: 'last three checks, mean miss',
  recent_miss_psi: 'the same as pressure',
  trend_lb_per_month: 'trend',
  cusum: 'sum of misses',
  cusum_side: 'side',
  kind: 'looks like',
  probability: 'probability',
  since_likely: 'since, most likely',
  since_from: 'since, not before (95 %)',
  since_until: 'since, not after (95 %)',
  silent_days: 'silent for',
  usual_days: 'usual gap between readings',
  circuits_read: 'circuits read',
  psi_per_degree_f: 'for each °F, psi',
  u_psi_per_degree_f: 'its uncertainty, psi',
  miss_lb: 'miss',
  z: 'miss over its uncertainty',
  psi: 'pressure read',
  weight_lb: 'scale showed',
  confidence_percent: 'band',
  miss_per_air_psi: 'miss for each unit of air pressure',
  slope_lb_per_psi: 'slope',
  hardware_lb_per_psi: 'air springs times area',
  ratio: 'slope over that',
  low: 'smallest ratio',
  high: 'largest ratio',
  family_slope_lb_per_psi: 'slope of its family',
  slope_z: 'slope, distance from its family',
  intercept_lb: 'weight at no pressure',
  family_intercept_lb: 'the same of its family',
  intercept_z: 'weight at no pressure, distance from its family',
  family_lines: 'lines in the family',
  calibrated_with: 'lift axle at calibration',
  read_with: 'lift axle since',
  calibrated_on: 'calibrated',
  before_on: 'line before',
  span_lb: 'spread of the weights',
  heaviest_lb: 'heaviest',
  limit_lb: 'limit',
  span_asked_percent: 'spread asked, of the limit',
  top_asked_percent: 'heaviest asked, of the limit',
  chi2: 'χ²',
  chi2_limit: 'χ² bound',
  chi2_95: 'χ² 95 % bound',
  dof: 'degrees of freedom',
  widened_by: 'uncertainty widened by',
  worst_residual_lb: 'worst point off the line',
  worst_weight_lb: 'its weight',
  worst_pressure_psi: 'its pressure',
  at_empty_lb: 'difference at empty',
  at_limit_lb: 'difference at the limit',
  bias_percent: 'bias',
  groups: 'axle groups',
  difference_psi: 'difference',
  mean_psi: 'mean of the readings',
  allowed_psi: 'allowed',
  allowed_lb: 'allowed',
  difference_lb: 'difference',
  typed_psi: 'typed',
  fits_psi: 'would fit',
  typed_lb: 'typed',
  fits_lb: 'would fit',
  unit: 'unit it fits',
  sum_lb: 'axle weights together',
  gross_lb: 'gross',
  weights: 'axle weights',
  installed_on: 'cell put in',
  swap_by: 'swap by',
  next_visit: 'next visit',
}

/** Words that stand for a figure, where the command line's are short. */
const findingWords: Readonly<Record<string, string>> = {
  'cusum_side high': 'the scale shows more',
  'cusum_side low': 'the scale shows less',
}

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
  if (name.endsWith('_lb_per_month')) return { ...quantity(name, weight), unit: `${weight.symbol} a month` }
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
    ? `${elevation.text(1000)} of elevation`
    : (findingLabels[name] ?? name.replace(/_(lb|psi|ft|percent|days|on)$/, '').replaceAll('_', ' '))

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
    if (typeof value === 'string') return [{ label, text: findingWords[`${name} ${value}`] ?? value }]
    const { figure, plusMinus, unit } = writing(name, measures)
    const end = unit && `${nbsp}${unit}`
    const u = numbers[uncertainty.get(name) ?? '']
    if (typeof u === 'number') return [{ label, text: `${figure(value)} ${plusMinus(u)}${end} (95${nbsp}%)` }]
    // An uncertainty without its figure says how well something is known.
    if (name in figureOfUncertainty) return [{ label, text: `${plusMinus(value)}${end} (95${nbsp}%)` }]
    return [{ label, text: `${figure(value)}${end}` }]
  })
}
