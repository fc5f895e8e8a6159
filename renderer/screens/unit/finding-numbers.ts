import type { FindingView } from '#core/api/contract.ts'
import { count, decimal, type Measures, ratio } from '#renderer/parts/format.ts'

interface Labelled { readonly label: string; readonly text: string }

const written: readonly [suffix: string, write: (value: number, measures: Measures) => string][] = [
  ['_lb', (value, { weight }) => weight.text(value)],
  ['_psi', (value, { pressure }) => pressure.text(value)],
  ['_ft', (value, { length }) => length.text(value)],
  ['_percent', (value) => `${decimal(value)} %`],
  ['_days', (value) => `${count(value)} d`],
]

const symbols: Record<string, string> = { chi2: 'χ²', 'chi2 95': 'χ² 95 % bound', 'chi2 limit': 'χ² bound', dof: 'degrees of freedom' }
const withWords = (name: string): string => symbols[name.replaceAll('_', ' ')] ?? name.replaceAll('_', ' ')

/** A finding's figures as label and text: the end of each name says the unit. */
export function findingNumbers(numbers: FindingView['numbers'], measures: Measures): Labelled[] {
  return Object.entries(numbers).flatMap(([name, value]): Labelled[] => {
    if (value === null) return []
    if (typeof value === 'string') return [{ label: withWords(name.replace(/_on$/, '')), text: value }]
    const unit = written.find(([suffix]) => name.endsWith(suffix))
    if (unit) return [{ label: withWords(name.slice(0, -unit[0].length)), text: unit[1](value, measures) }]
    return [{ label: withWords(name), text: Number.isInteger(value) ? count(value) : ratio(value) }]
  })
}
