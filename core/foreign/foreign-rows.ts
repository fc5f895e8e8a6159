import { phrase } from '#core/words/phrase.ts'
import { open, stat } from 'node:fs/promises'
import { line as nameType, plainDecimal } from '#core/exchange/column.ts'
import { NotUtf8, type RecordTaker, type TextBlock, csvScanner, readUtf8 } from '#core/exchange/csv-records.ts'
import { columnsOf, folderFiles } from '#core/exchange/folder-files.ts'
import {
  acceptedNumber,
  acceptedTime,
  readForeignNumber,
  readForeignTime,
  readMendCell,
} from '#core/foreign/mapping/cells.ts'
import {
  type Encoding,
  type ForeignFacts,
  type ForeignMapping,
  type ForeignQuantity,
  type ForeignSource,
  type ValueColumn,
  circuitNamed,
  columnNames,
  delimiters,
  groupNamed,
  mendColumn,
  namedMountAt,
} from '#core/foreign/mapping/mapping.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { type MeasureSet, acceptedMeasure, amountText } from '#core/words/measures.ts'
import { TarelineError } from '#core/words/problem.ts'
import { type Range, ranges } from '#core/words/vocabulary.ts'

/** A larger file is no scale operator's, and would fill the memory if it had no line breaks. */
const mostBytes = 256 * 1024 ** 2
const blockBytes = 1 << 20

/** The size of a file that may be read, bytes. Errors: TarelineError `no-file`, `too-large`. */
export async function foreignSize(path: string): Promise<number> {
  const facts = await stat(path).catch(() => undefined)
  if (!facts?.isFile())
    throw new TarelineError(
      'no-file',
      phrase('{path} is not a file on this computer. Name the CSV file with its full path.', { path }),
    )
  if (facts.size > mostBytes)
    throw new TarelineError(
      'too-large',
      phrase('{path} is larger than {most} MB. Cut it into smaller files and import them one after another.', {
        path,
        most: mostBytes / 1024 ** 2,
      }),
    )
  return facts.size
}

const isBigEndian = (bytes: Uint8Array): boolean => bytes[0] === 0xfe && bytes[1] === 0xff

/** Bytes that are no text of their encoding, with their line. */
class NotText extends Error {
  readonly line: number

  constructor(line: number) {
    super(`line ${line} is not text`)
    this.line = line
  }
}

const lineBreaks = (text: string): number => text.split(/\r\n|\r|\n/).length - 1

async function* readOther(path: string, encoding: Exclude<Encoding, 'utf-8'>): AsyncGenerator<TextBlock> {
  const file = await open(path)
  try {
    const buffer = Buffer.allocUnsafe(blockBytes)
    let decoder: TextDecoder | undefined
    let name: string = encoding
    let bytes = 0
    let lines = 1
    for (;;) {
      const { bytesRead } = await file.read(buffer, 0, blockBytes, bytes)
      const block = buffer.subarray(0, bytesRead)
      if (decoder === undefined && encoding === 'utf-16') name = isBigEndian(block) ? 'utf-16be' : 'utf-16le'
      decoder ??= new TextDecoder(name, { fatal: true })
      bytes += bytesRead
      let text: string
      try {
        text = decoder.decode(block, { stream: bytesRead > 0 })
      } catch {
        const mended = new TextDecoder(name).decode(block)
        const at = mended.indexOf('\ufffd')
        throw new NotText(lines + lineBreaks(at < 0 ? mended : mended.slice(0, at)))
      }
      lines += lineBreaks(text)
      if (text !== '') yield { text, bytes }
      if (bytesRead === 0) return
    }
  } finally {
    await file.close()
  }
}

/** Leaves out the first lines of a text that comes in blocks. */
function withoutLines(count: number): (text: string, last: boolean) => string {
  let left = count
  let rest = ''
  return (text, last) => {
    if (left === 0) return text
    rest += text
    while (left > 0) {
      const at = rest.search(/[\r\n]/)
      // A CR at the end may yet be followed by its LF.
      if (at < 0) {
        // However long the line is: it is passed over.
        rest = ''
        return ''
      }
      if (!last && rest[at] === '\r' && at === rest.length - 1) {
        rest = '\r'
        return ''
      }
      rest = rest.slice(rest[at] === '\r' && rest[at + 1] === '\n' ? at + 2 : at + 1)
      left -= 1
    }
    const begun = rest
    rest = ''
    return begun
  }
}

type TextSettings = Pick<ForeignMapping, 'delimiter' | 'encoding' | 'skipLines'>

/**
 * Takes the records of a text that comes in blocks; lines are those of the file. A file of rows to mend reads as what
 * it was made of.
 */
export function foreignScanner(
  { delimiter, skipLines }: Omit<TextSettings, 'encoding'>,
  { record, fault }: RecordTaker,
) {
  let mends: boolean | undefined
  const scanner = csvScanner(
    {
      record: (cells, line) => {
        mends ??= cells.some((cell) => cell.trim() === mendColumn)
        record(mends ? cells.map(readMendCell) : cells, line + skipLines)
      },
      fault: ({ line, ...rest }) => fault({ line: line + skipLines, ...rest }),
    },
    delimiters[delimiter],
  )
  const skip = withoutLines(skipLines)
  return {
    take: (text: string) => scanner.take(skip(text, false)),
    end: () => {
      scanner.take(skip('', true))
      scanner.end()
    },
  }
}

const encodingNames: Readonly<Record<Encoding, string>> = {
  'utf-8': 'UTF-8',
  'utf-16': 'UTF-16',
  'windows-1252': 'Windows-1252',
}

/**
 * Reads a foreign file block by block. Bytes that are no text of the encoding are told as a fault, and nothing behind
 * them is read: the answer is false then. Errors: those of `foreignSize` and of the file system.
 */
export async function readForeign(
  path: string,
  settings: TextSettings,
  taker: RecordTaker,
  pause: (bytes: number) => Promise<void>,
): Promise<boolean> {
  await foreignSize(path)
  const { encoding } = settings
  const scanner = foreignScanner(settings, taker)
  try {
    for await (const { text, bytes } of encoding === 'utf-8' ? readUtf8(path) : readOther(path, encoding)) {
      scanner.take(text)
      await pause(bytes)
    }
  } catch (error) {
    if (!(error instanceof NotUtf8) && !(error instanceof NotText)) throw error
    const accepted = phrase('text in {encoding}; the encoding can be set', { encoding: encodingNames[encoding] })
    taker.fault({
      line: error.line,
      value: phrase('bytes that are not {encoding}', { encoding: encodingNames[encoding] }),
      accepted,
    })
    return false
  }
  scanner.end()
  return true
}

/** What is wrong with a cell of a foreign row, or with the whole row (column null). */
export interface CellProblem {
  readonly column: string | null
  readonly value: string
  readonly accepted: string
  readonly message: string
}

/** A row of the fleet folder's file, as its cells, and which foreign columns they come from: one of `origins`. */
export interface TranslatedRow {
  readonly cells: string[]
  readonly origin: number
}

export interface Translated {
  /** What the rows of one ticket or reading share; null where it cannot be told. */
  readonly key: string | null
  readonly rows: readonly TranslatedRow[]
  readonly problems: readonly CellProblem[]
}

/** The foreign column, by name, behind each column of the folder's file; null: it has none of its own. */
export type Origin = Readonly<Record<string, string | null>>

export interface Translator {
  readonly file: 'tickets' | 'readings'
  readonly header: string[]
  readonly origins: readonly Origin[]
  /** Translates a row whose cells stand under the header; undefined for one without content. */
  translate(cells: readonly string[]): Translated | undefined
}

const shown = (text: string) => `“${text.length > 80 ? `${text.slice(0, 79)}…` : text}”`

/** A cell with where it stands. */
interface Found {
  readonly text: string
  readonly column: string | null
}
const nothing: Found = { text: '', column: null }

/** Takes a row apart by a mapping; every refusal is noted at its cell. */
class RowParts {
  readonly problems: CellProblem[] = []
  readonly #cells: readonly string[]
  readonly #where: ReadonlyMap<string, number>
  readonly #measures: MeasureSet

  constructor(cells: readonly string[], where: ReadonlyMap<string, number>, measures: MeasureSet) {
    this.#cells = cells
    this.#where = where
    this.#measures = measures
  }

  find(source: ForeignSource | undefined): Found {
    if (source === undefined) return nothing
    if ('fixed' in source) return { text: source.fixed, column: null }
    return { text: (this.#cells[this.#where.get(source.column) ?? -1] ?? '').trim(), column: source.column }
  }

  refuse({ column, text }: Found, accepted: string, message: string): undefined {
    this.problems.push({ column, value: text, accepted, message })
    return undefined
  }

  /** A name that must be there. */
  name(found: Found, what: string): string | undefined {
    if (found.text === '') return this.refuse(found, what, phrase('the cell is empty; {what} is needed.', { what }))
    return (
      nameType.parse(found.text) ??
      this.refuse(
        found,
        nameType.accepted,
        phrase('{text} is not accepted; {accepted} is.', { text: shown(found.text), accepted: nameType.accepted }),
      )
    )
  }

  /** A number in stored units, as the folder writes it; '' for an empty cell. */
  number(found: Found, quantity: ForeignQuantity, range: Range, mapping: ForeignMapping): string | undefined {
    if (found.text === '') return ''
    const value = readForeignNumber(found.text, quantity, mapping)
    if (value === undefined) {
      const accepted = acceptedNumber(mapping, mapping[quantity])
      return this.refuse(
        found,
        accepted,
        phrase('{text} is not accepted; {accepted} is.', { text: shown(found.text), accepted }),
      )
    }
    if (value >= range.min && value <= range.max) return plainDecimal(value)
    const measure = this.#measures[quantity]
    const accepted = acceptedMeasure(range, measure)
    return this.refuse(
      found,
      accepted,
      phrase('{text} is {value}; {accepted} is accepted.', {
        text: shown(found.text),
        value: amountText(value, measure),
        accepted,
      }),
    )
  }

  time(date: Found, time: Found, mapping: ForeignMapping): number | undefined {
    const ms = readForeignTime(date.text, time.text, mapping)
    if (ms !== undefined) return ms
    const accepted = acceptedTime(mapping)
    const text = [date.text, time.text].filter(Boolean).join(' ')
    return this.refuse(
      { ...date, text },
      accepted,
      text === ''
        ? phrase('the cell is empty; {accepted} is needed.', { accepted })
        : phrase('{text} is not accepted; {accepted}, that exists in {zone}, is.', {
            text: shown(text),
            accepted,
            zone: mapping.zone,
          }),
    )
  }
}

/** Where a pressure belongs; only its unit where the rest could not be found. */
interface FoundPlace {
  readonly unit: string
  readonly group?: string
  readonly circuit?: string
}

type PlaceSources = { readonly [K in 'unit' | 'group' | 'circuit' | 'serial']?: ForeignSource | undefined }

const originColumn = (source: ForeignSource | undefined): string | null =>
  source !== undefined && 'column' in source ? source.column : null

/** A mapping at work on the rows under a header. The mapping fills what `mappingGaps` asks for. */
export function translator(mapping: ForeignMapping, title: readonly string[], facts: ForeignFacts): Translator {
  const columns = columnNames(title)
  /** Cells that stand under a name: programs leave out, or write, an empty one at the end of a row. */
  const least = title.findLastIndex((cell) => cell.trim() !== '') + 1
  const { fields, kind, layout } = mapping
  const where = new Map(columns.flatMap((name, at): [string, number][] => (name === null ? [] : [[name, at]])))
  const header = columnsOf(kind).map(([column]) => column)
  const liftType = folderFiles.readings.columns.lift.type
  const row = (values: Readonly<Record<string, string | undefined>>) => header.map((column) => values[column] ?? '')
  /** In a long file the one place of the row, in a wide one that of each column. */
  const places: readonly (PlaceSources & { readonly value: string | undefined })[] =
    layout === 'long'
      ? [
          {
            unit: fields.unit,
            group: fields.group,
            circuit: fields.circuit,
            serial: fields.serial,
            value: fields.value?.column,
          },
        ]
      : mapping.values.map(({ column, ...rest }: ValueColumn) => ({ ...rest, value: column }))
  const timeColumn = originColumn(fields.date)
  const shared = {
    scale: originColumn(fields.scale),
    ticket: originColumn(fields.ticket),
    weighed_at: timeColumn,
    taken_at: timeColumn,
    reading: originColumn(fields.reading),
    gross_lb: originColumn(fields.gross),
    elevation_ft: originColumn(fields.elevation),
    temperature_f: originColumn(fields.temperature),
    lift: originColumn(fields.lift),
    driver: originColumn(fields.driver),
    lane: originColumn(fields.lane),
  }
  const origins = places.map(
    ({ unit, group, circuit, serial, value }): Origin => ({
      ...shared,
      unit: originColumn(unit ?? serial),
      group: originColumn(group ?? serial),
      circuit: originColumn(circuit ?? serial),
      weight_lb: value ?? null,
      psi: value ?? null,
    }),
  )

  const findUnit = (parts: RowParts, source: ForeignSource | undefined): string | undefined => {
    const found = parts.find(source)
    const unit = parts.name(found, phrase('the number of a unit of this fleet'))
    if (unit === undefined || facts.units.has(unit)) return unit
    return parts.refuse(
      found,
      phrase('the number of a unit of this fleet'),
      phrase('there is no unit {unit} in this fleet.', { unit: shown(unit) }),
    )
  }
  const findGroup = (parts: RowParts, unit: string, source: ForeignSource | undefined) => {
    const found = parts.find(source)
    const text = parts.name(found, phrase('an axle group of the unit'))
    if (text === undefined) return undefined
    return (
      groupNamed(facts.units.get(unit) ?? [], text) ??
      parts.refuse(
        found,
        phrase('an axle group of unit {unit}', { unit }),
        phrase('unit {unit} has no axle group {text}, and not just one of such a role.', { unit, text: shown(text) }),
      )
    )
  }
  const bySerial = (
    parts: RowParts,
    source: ForeignSource | undefined,
    at: number | undefined,
  ): FoundPlace | undefined => {
    const found = parts.find(source)
    const serial = parts.name(found, phrase('the serial of a sensor of this fleet'))
    if (serial === undefined) return undefined
    const mounts = facts.mounts.get(serial)
    if (!mounts)
      return parts.refuse(
        found,
        phrase('the serial of a sensor of this fleet'),
        phrase('there is no sensor {serial} in this fleet.', { serial: shown(serial) }),
      )
    if (at === undefined) return undefined
    return (
      namedMountAt(mounts, at) ??
      parts.refuse(
        found,
        phrase('a sensor that was mounted at that time'),
        phrase('sensor {serial} was on no circuit at {at}.', { serial, at: toStoredInstant(at) }),
      )
    )
  }
  const byCircuit = (
    parts: RowParts,
    { unit: unitSource, group: groupSource, circuit: circuitSource }: PlaceSources,
  ): FoundPlace | undefined => {
    const unit = findUnit(parts, unitSource)
    if (unit === undefined) return undefined
    const group = findGroup(parts, unit, groupSource)
    if (group === undefined) return { unit }
    const found = parts.find(circuitSource)
    const text = parts.name(found, phrase('a circuit of the group'))
    if (text === undefined) return { unit }
    const circuit = circuitNamed(group, text)
    if (circuit !== undefined) return { unit, group: group.name, circuit }
    parts.refuse(
      found,
      phrase('a circuit of unit {unit}, group {group}', { unit, group: group.name }),
      phrase('unit {unit}, group {group} has no circuit {text}.', { unit, group: group.name, text: shown(text) }),
    )
    return { unit }
  }
  const findScale = (parts: RowParts, found: Found): string | undefined => {
    const scale = parts.name(found, phrase('a scale of this fleet'))
    if (scale === undefined || facts.scales.has(scale)) return scale
    return parts.refuse(
      found,
      phrase('a scale of this fleet'),
      phrase('there is no scale {scale} in this fleet.', { scale: shown(scale) }),
    )
  }

  const nameIn = (parts: RowParts, field: 'driver' | 'lane', accepted: string): string | undefined => {
    const found = parts.find(fields[field])
    return found.text === '' ? '' : parts.name(found, accepted)
  }
  const driverOf = (parts: RowParts) => nameIn(parts, 'driver', phrase('the name of the driver'))
  const laneOf = (parts: RowParts) => nameIn(parts, 'lane', phrase('the name of the loading lane'))

  const ticketRows = (parts: RowParts): Omit<Translated, 'problems'> => {
    const scale = findScale(parts, parts.find(fields.scale))
    const ticket = parts.name(parts.find(fields.ticket), phrase('the number of the ticket'))
    const ms = parts.time(parts.find(fields.date), parts.find(fields.time), mapping)
    const gross = parts.number(parts.find(fields.gross), 'weight', ranges.grossLb, mapping)
    const common = {
      scale,
      ticket,
      weighed_at: ms === undefined ? '' : toStoredInstant(ms),
      gross_lb: gross,
      driver: driverOf(parts),
      lane: laneOf(parts),
    }
    const rows: TranslatedRow[] = []
    const weighed = new Set<string>()
    const onlyNamed = new Map<string, number>()
    for (const [origin, { value, unit: unitSource, group: groupSource }] of places.entries()) {
      const found = parts.find(value === undefined ? undefined : { column: value })
      if (found.text === '') {
        const named = parts.find(unitSource)
        // A long row has no other place to say what was weighed; in a wide one a unit without a weight was on the scale
        // all the same.
        const unit =
          layout === 'long' || (named.column !== null && named.text !== '') ? findUnit(parts, unitSource) : undefined
        if (unit !== undefined && !onlyNamed.has(unit)) onlyNamed.set(unit, origin)
        continue
      }
      const unit = findUnit(parts, unitSource)
      const group = unit === undefined ? undefined : findGroup(parts, unit, groupSource)
      const weight = parts.number(found, 'weight', ranges.weightLb, mapping)
      if (unit === undefined || group === undefined || weight === undefined) continue
      weighed.add(unit)
      rows.push({ cells: row({ ...common, unit, group: group.name, weight_lb: weight }), origin })
    }
    if (rows.length === 0 && parts.problems.length === 0 && (gross === '' || onlyNamed.size === 0)) {
      const accepted = phrase('a weight of an axle group, or the gross of the unit')
      parts.refuse(
        { text: '', column: places[0]?.value ?? null },
        accepted,
        phrase('the row has no weight; {accepted} is needed.', { accepted }),
      )
    }
    for (const [unit, origin] of onlyNamed)
      if (!weighed.has(unit)) rows.push({ cells: row({ ...common, unit }), origin })
    return { key: scale === undefined || ticket === undefined ? null : `${scale}\n${ticket}`, rows }
  }

  const readingRows = (parts: RowParts): Omit<Translated, 'problems'> => {
    const ms = parts.time(parts.find(fields.date), parts.find(fields.time), mapping)
    const named = parts.find(fields.reading)
    const [scaleCell, ticketCell] = [parts.find(fields.scale), parts.find(fields.ticket)]
    // A fixed scale says nothing about a row without a ticket.
    const belongs = ticketCell.text !== '' || (scaleCell.text !== '' && scaleCell.column !== null)
    const scale = belongs ? findScale(parts, scaleCell) : ''
    const ticket = belongs ? parts.name(ticketCell, phrase('the number of the ticket')) : ''
    const elevation = parts.number(parts.find(fields.elevation), 'elevation', ranges.elevationFt, mapping)
    const temperature = parts.number(parts.find(fields.temperature), 'temperature', ranges.temperatureF, mapping)
    const liftCell = parts.find(fields.lift)
    const lift =
      liftCell.text === ''
        ? ''
        : (liftType.parse(liftCell.text) ??
          parts.refuse(
            liftCell,
            liftType.accepted,
            phrase('{text} is not accepted; {accepted} is.', {
              text: shown(liftCell.text),
              accepted: liftType.accepted,
            }),
          ))
    const driver = driverOf(parts)
    const lane = laneOf(parts)
    const takenAt = ms === undefined ? '' : toStoredInstant(ms)
    const own = fields.reading === undefined ? undefined : parts.name(named, phrase('the name of the reading'))
    const rows: TranslatedRow[] = []
    let made: string | null = null
    for (const [origin, place] of places.entries()) {
      const found = parts.find(place.value === undefined ? undefined : { column: place.value })
      if (found.text === '' && layout === 'wide') continue
      const at = mapping.place === 'serial' ? bySerial(parts, place.serial, ms) : byCircuit(parts, place)
      const psi =
        found.text === ''
          ? parts.refuse(
              found,
              phrase('a pressure in {unit}', { unit: mapping.pressure }),
              phrase('the cell is empty; a pressure in {unit} is needed.', { unit: mapping.pressure }),
            )
          : parts.number(found, 'pressure', ranges.psi, mapping)
      if (at === undefined || ms === undefined) continue
      // Made of what the row says, so that the same row comes out the same when the file is imported again.
      made ??= `${at.unit} ${takenAt.replace('.000Z', 'Z')}`
      rows.push({
        cells: row({
          reading: own ?? made,
          taken_at: takenAt,
          unit: at.unit,
          group: at.group,
          circuit: at.circuit,
          psi,
          scale,
          ticket,
          elevation_ft: elevation,
          temperature_f: temperature,
          lift,
          driver,
          lane,
        }),
        origin,
      })
    }
    if (rows.length === 0 && parts.problems.length === 0) {
      const accepted = phrase('at least one pressure')
      parts.refuse(
        { text: '', column: places[0]?.value ?? null },
        accepted,
        phrase('the row has no pressure; {accepted} is needed.', { accepted }),
      )
    }
    const name = own ?? made
    if (name !== null && nameType.parse(name) === undefined)
      parts.refuse(
        { text: name, column: null },
        nameType.accepted,
        phrase('the name made for the reading, {name}, is not accepted; {accepted} is.', {
          name: shown(name),
          accepted: nameType.accepted,
        }),
      )
    return { key: name, rows }
  }

  return {
    file: kind,
    header,
    origins,
    translate: (cells) => {
      if (cells.every((cell) => cell.trim() === '')) return undefined
      const surplus = cells.slice(columns.length).some((cell) => cell.trim() !== '')
      const parts = new RowParts(cells, where, facts.measures)
      if (surplus || cells.length < least) {
        const accepted = phrase('{count} cells, as in the header', { count: columns.length })
        return {
          key: null,
          rows: [],
          problems: [
            {
              column: null,
              value: phrase('{count, plural, one {# cell} other {# cells}}', { count: cells.length }),
              accepted,
              message: phrase('the row has {count, plural, one {# cell} other {# cells}}; {accepted}, are needed.', {
                count: cells.length,
                accepted,
              }),
            },
          ],
        }
      }
      const { key, rows } = kind === 'tickets' ? ticketRows(parts) : readingRows(parts)
      return { key, rows: parts.problems.length > 0 ? [] : rows, problems: parts.problems }
    },
  }
}
