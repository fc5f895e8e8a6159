import type { FindingView } from '#core/api/contract.ts'
import { count, decimal, type Measures, type Quantity, ratio } from '#renderer/parts/format.ts'
import { figureOfUncertainty, findingLabels, findingWords, recordedFigures, signedFigures } from './finding-labels.ts'

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
    plusMinus: (u) => `±${nbsp}${ratio(2 * u)}`,
    figure: (value) => `${signedFigures.has(name) && value > 0 ? '+' : ''}${write(value)}`,
  }
}

/** How the value of a name is written: the end of the name says the unit. */
function writing(name: string, { weight, pressure, slope, length }: Measures): Written {
  if (name.endsWith('_lb_per_psi')) return quantity(name, slope)
  if (name.endsWith('_lb_per_month')) return { ...quantity(name, weight), unit: `${weight.symbol} a month` }
  if (name === 'miss_per_air_psi')
    return { figure: plain, plusMinus: (u) => `±${nbsp}${ratio(2 * u)}`, unit: pressure.symbol }
  if (name.endsWith('_lb')) return quantity(name, weight)
  if (name.endsWith('psi')) return quantity(name, pressure)
  if (name.endsWith('_ft')) return quantity(name, length)
  if (name.endsWith('_percent')) return percentage(name)
  if (name.endsWith('_days')) return { figure: count, plusMinus: (u) => `±${nbsp}${decimal(2 * u)}`, unit: 'd' }
  if (name === 'cusum') return { figure: decimal, plusMinus: plain, unit: '' }
  if (name === 'widened_by') return { figure: (value) => `×${nbsp}${ratio(value)}`, plusMinus: plain, unit: '' }
  return { figure: plain, plusMinus: (u) => `±${nbsp}${plain(2 * u)}`, unit: '' }
}

const labelOf = (name: string): string =>
  findingLabels[name] ?? name.replace(/_(lb|psi|ft|percent|days|on)$/, '').replaceAll('_', ' ')

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
    const label = labelOf(name)
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
