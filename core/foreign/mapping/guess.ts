import { readForeignNumber } from '#core/foreign/mapping/cells.ts'
import { longestCell } from '#core/foreign/mapping/cells.ts'
import {
  type DateOrder,
  type Delimiter,
  type Encoding,
  type ForeignField,
  type ForeignKind,
  type ForeignMapping,
  type ForeignQuantity,
  type ForeignSource,
  type ValueColumn,
  columnNames,
  decimalSigns,
  delimiters,
  fieldWords,
  foreignUnits,
  groupWords,
  otherSign,
  plainTitle,
  tractorWords,
  trailerWords,
  unitInTitle,
  valueWords,
} from '#core/foreign/mapping/mapping.ts'
import { isPlausible } from '#core/foreign/mapping/plausible.ts'

/** Splits the first lines roughly; quotes only keep delimiters together here. */
const cellsOf = (line: string, sign: string): number => line.replaceAll(/"[^"]*"/g, '').split(sign).length

const usual = (numbers: readonly number[]): number => {
  const counts = new Map<number, number>()
  for (const each of numbers) counts.set(each, (counts.get(each) ?? 0) + 1)
  return [...counts].sort(([a, n], [b, m]) => m - n || b - a)[0]?.[0] ?? 1
}

/** The delimiter that cuts most lines into as many cells, and the lines before the first such line. */
export function guessShape(lines: readonly string[]): { delimiter: Delimiter; skipLines: number } {
  const shapes = (Object.keys(delimiters) as Delimiter[]).map((delimiter) => {
    const counts = lines.map((line) => cellsOf(line, delimiters[delimiter]))
    const width = usual(counts.filter((count) => count > 1))
    const skipLines = counts.findIndex((count, at) => count === width && lines[at]?.trim() !== '')
    return {
      delimiter,
      skipLines,
      score: width < 2 ? 0 : counts.filter((count) => count === width).length + width / 100,
    }
  })
  const best = shapes.reduce((one, other) => (other.score > one.score ? other : one))
  return best.score === 0
    ? { delimiter: 'comma', skipLines: 0 }
    : { delimiter: best.delimiter, skipLines: Math.min(100, Math.max(0, best.skipLines)) }
}

type MeasureUnits = Pick<ForeignMapping, ForeignQuantity>

interface Table {
  readonly names: readonly string[]
  readonly titles: readonly string[]
  /** Cells of each column, without the empty ones and those too long to be anything but words. */
  readonly cells: readonly (readonly string[])[]
}

const isNumber = (text: string): boolean => /^[+-]?\d[\d.,'’ \u00a0]*\s*\p{L}{0,3}$/u.test(text)
const isDate = (text: string): boolean => /\d{1,4}[./-]\d{1,2}[./-]\d{1,4}|\d{1,2}[ .-]\p{L}{3}/u.test(text)
const isClock = (text: string): boolean => /^\d{1,2}:\d{2}/.test(text)

/** A column whose numbers are read, and what they are. */
interface NumberColumn {
  readonly means: 'group weight' | 'gross' | 'pressure' | 'other'
  readonly cells: readonly string[]
}

/** A number whose one sign may part its thousands or begin its fraction: 33,940. */
const isTwofold = (text: string): boolean => /^[+-]?[1-9]\d{0,2}[.,]\d{3}(?!\d)(?!.*[.,])/.test(text)

/** The decimal sign that some numbers allow alone; undefined where none of them tells. */
function certainDecimal(numbers: readonly string[]): ForeignMapping['decimal'] | undefined {
  const some = (pattern: RegExp) => numbers.some((text) => pattern.test(text))
  if (some(/\..*,/)) return 'comma'
  if (some(/,.*\./)) return 'point'
  // Not three digits behind the sign, more than three before it, or a zero: no thousands.
  if (some(/,(?!\d{3}(?:\D|$))\d/) || some(/^[+-]?(?:0|\d{4,}),\d/) || some(/\.\d{3}\./)) return 'comma'
  if (some(/\.(?!\d{3}(?:\D|$))\d/) || some(/^[+-]?(?:0|\d{4,})\.\d/) || some(/,\d{3},/)) return 'point'
  return undefined
}

/**
 * The decimal sign with which alone every number that can be read in two ways makes sense: an axle group weighs no 34
 * lb. null: both do, or neither, so that a person has to say; a file with commas between its cells comes from where the
 * decimal sign is a point.
 */
function plausibleDecimal(
  columns: readonly NumberColumn[],
  units: MeasureUnits,
  delimiter: Delimiter,
): ForeignMapping['decimal'] {
  const twofold = columns.flatMap(({ means, cells }) => cells.filter(isTwofold).map((text) => ({ means, text })))
  if (twofold.length === 0) return 'point'
  const fitting = decimalSigns.filter((decimal) =>
    twofold.every(({ means, text }) => {
      if (means === 'other') return true
      const quantity = means === 'pressure' ? 'pressure' : 'weight'
      const value = readForeignNumber(text, quantity, { ...units, decimal, thousands: otherSign(decimal) })
      return value !== undefined && isPlausible(means, value)
    }),
  )
  const [only, another] = fitting
  if (only !== undefined && another === undefined) return only
  return delimiter === 'comma' ? 'point' : null
}

function guessThousands(numbers: readonly string[], decimal: ForeignMapping['decimal']): ForeignMapping['thousands'] {
  const some = (pattern: RegExp) => numbers.some((text) => pattern.test(text))
  if (decimal === null) return 'none'
  if (some(decimal === 'comma' ? /\.\d{3}/ : /,\d{3}/)) return otherSign(decimal)
  return some(/\d[ \u00a0\u202f]\d{3}/) ? 'space' : some(/\d['’]\d{3}/) ? 'apostrophe' : 'none'
}

function guessOrder(dates: readonly string[], comma: boolean): DateOrder {
  const parts = dates.flatMap((text) => {
    const match = /(\d{1,4})[./-](\d{1,2})[./-](\d{1,4})/.exec(text)
    return match ? [[match[1] ?? '', match[2] ?? '']] : []
  })
  if (parts.length === 0 || parts.some(([first = '']) => first.length === 4)) return 'year first'
  if (parts.some(([first]) => Number(first) > 12)) return 'day first'
  if (parts.some(([, second]) => Number(second) > 12)) return 'month first'
  return comma || dates.some((text) => /\d\.\d+\./.test(text)) ? 'day first' : 'month first'
}

const column = (name: string): ForeignSource => ({ column: name })
const columnOf = (source: ForeignSource | undefined): string | undefined =>
  source !== undefined && 'column' in source ? source.column : undefined

/** Which columns fill which fields, by the words in their titles; each column once. */
function matchFields(table: Table, taken: Set<string>): Omit<ForeignMapping['fields'], 'value'> {
  const found: Partial<Record<Exclude<ForeignField, 'value'>, ForeignSource>> = {}
  for (const [field, words] of fieldWords) {
    const at = table.titles.findIndex((title, index) => words.test(title) && !taken.has(table.names[index] ?? ''))
    const name = table.names[at]
    if (name === undefined) continue
    if (field === 'time' && !(table.cells[at] ?? []).every(isClock)) continue
    found[field] = column(name)
    taken.add(name)
  }
  if (found.date === undefined) {
    const at = table.cells.findIndex(
      (cells, index) => cells.length > 0 && cells.every(isDate) && !taken.has(table.names[index] ?? ''),
    )
    const name = table.names[at]
    if (name !== undefined) found.date = column(name)
  }
  return found
}

/** Columns of numbers whose titles name an axle group: a wide file, where there are several. */
function groupColumns({ names, titles, cells }: Table): { name: string; title: string; role: string }[] {
  return names.flatMap((name, at) => {
    const title = titles[at] ?? ''
    const role = groupWords.find(([words]) => words.test(title))?.[1]
    const numbers = (cells[at] ?? []).filter(isNumber).length
    return role !== undefined &&
      numbers > 0 &&
      numbers * 2 > (cells[at] ?? []).length &&
      !/\b(no|number|nr|nummer|unit|id)\b/.test(title)
      ? [{ name, title, role }]
      : []
  })
}

interface Guessed {
  readonly records: readonly (readonly string[])[]
  readonly delimiter: Delimiter
  readonly encoding: Encoding
  readonly skipLines: number
  readonly zone: string
}

/** Guesses all of a mapping from the first records of a file, its header first. Every part of it can be changed. */
export function guessMapping({
  records: [header = [], ...rows],
  delimiter,
  encoding,
  skipLines,
  zone,
}: Guessed): ForeignMapping {
  const named = columnNames(header).flatMap((name, at) => (name === null ? [] : [{ name, at }]))
  const table: Table = {
    names: named.map(({ name }) => name),
    titles: named.map(({ name }) => plainTitle(name)),
    cells: named.map(({ at }) =>
      rows.flatMap((cells) => {
        const cell = cells[at]?.trim() ?? ''
        return cell === '' || cell.length > longestCell ? [] : cell
      }),
    ),
  }
  const hits = (words: RegExp) =>
    named.filter(({ name }) => words.test(plainTitle(name)) || words.test(name.toLowerCase())).length
  const isWeight =
    hits(valueWords.weight) + hits(/\b(ticket|gross|brutto|kg|lbs?)\b/) >=
    hits(valueWords.pressure) + hits(/\b(sensor|serial|circuit)\b/)
  const kind: ForeignKind = isWeight ? 'tickets' : 'readings'
  const wide = groupColumns(table)
  const layout = wide.length > 1 ? 'wide' : 'long'
  const wideNames = layout === 'wide' ? wide.map(({ name }) => name) : []
  const taken = new Set(wideNames)
  // The value before the rest, so that no other field takes its column: "axle weight" is a weight.
  const valueAt =
    layout === 'wide'
      ? -1
      : table.titles.findIndex(
          (title, at) =>
            (valueWords[isWeight ? 'weight' : 'pressure'].test(title) ||
              unitInTitle(isWeight ? 'weight' : 'pressure', table.names[at] ?? '') !== undefined) &&
            !/\b(gross|brutto|brut|bruto|total|gesamt\w*)\b/.test(title),
        )
  const valueName = table.names[valueAt]
  if (valueName !== undefined) taken.add(valueName)
  const fields = matchFields(table, taken)
  const titleOf = (words: RegExp) =>
    table.names.find((name, at) => words.test(table.titles[at] ?? '') && !wide.some((each) => each.name === name))
  const [tractor, trailer] = [titleOf(tractorWords), titleOf(trailerWords)]
  const values = wide.map(({ name, role }): ValueColumn => {
    const unit = role === 'trailer' ? trailer : tractor
    return {
      column: name,
      ...(unit === undefined ? {} : { unit: column(unit) }),
      group: { fixed: role },
      ...(isWeight ? {} : { circuit: { fixed: 'main' } }),
    }
  })
  const unitOf = <Q extends ForeignQuantity>(quantity: Q): (typeof foreignUnits)[Q][number] => {
    const named = table.names.flatMap((name) => unitInTitle(quantity, name) ?? [])[0]
    const units: readonly (typeof foreignUnits)[Q][number][] = foreignUnits[quantity]
    return units.find((unit) => unit === named) ?? (units[0] as (typeof foreignUnits)[Q][number])
  }
  const units = {
    weight: unitOf('weight'),
    pressure: unitOf('pressure'),
    elevation: unitOf('elevation'),
    temperature: unitOf('temperature'),
  }
  const numbersOf = (name: string | undefined) =>
    (table.cells[table.names.indexOf(name ?? '')] ?? []).filter((text) => isNumber(text) && !isDate(text))
  const numberColumns: NumberColumn[] = [
    ...[...wideNames, valueName].map((name) => ({
      means: isWeight ? ('group weight' as const) : ('pressure' as const),
      cells: numbersOf(name),
    })),
    { means: 'gross', cells: numbersOf(columnOf(fields.gross)) },
    ...[fields.elevation, fields.temperature].map((source) => ({
      means: 'other' as const,
      cells: numbersOf(columnOf(source)),
    })),
  ]
  const numbers = table.cells.flat().filter((text) => isNumber(text) && !isDate(text))
  const decimal = certainDecimal(numbers) ?? plausibleDecimal(numberColumns, units, delimiter)
  return {
    kind,
    delimiter,
    encoding,
    skipLines,
    zone,
    decimal,
    thousands: guessThousands(numbers, decimal),
    layout,
    values,
    dateOrder: guessOrder(table.cells.flat().filter(isDate), decimal === 'comma'),
    ...units,
    place: fields.serial !== undefined && !isWeight ? 'serial' : 'circuit',
    fields: { ...fields, ...(valueName === undefined ? {} : { value: { column: valueName } }) },
  }
}
