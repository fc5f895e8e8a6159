import { phrase } from '#core/words/phrase.ts'
import { open } from 'node:fs/promises'
import type { ForeignPreview, StoredRowView } from '#core/contracts/foreign.ts'
import type { CsvFault } from '#core/exchange/csv-records.ts'
import { foreignScanner, foreignSize, translator } from '#core/foreign/foreign-rows.ts'
import { guessMapping, guessShape } from '#core/foreign/mapping/guess.ts'
import {
  type Encoding,
  type ForeignFacts,
  type ForeignMapping,
  columnNames,
  columnsRead,
  mappingGaps,
} from '#core/foreign/mapping/mapping.ts'
import { leastGroupLb } from '#core/foreign/mapping/plausible.ts'

/** As much of a file as is looked at before it is imported. */
const sampleBytes = 128 * 1024
const shownRows = 20
const guessLines = 40
const longestCell = 200

interface Sample {
  readonly bytes: Uint8Array
  readonly isWhole: boolean
}

/** Errors: those of `foreignSize` and of the file system. */
async function readSample(path: string): Promise<Sample> {
  const size = await foreignSize(path)
  const file = await open(path)
  try {
    const { buffer, bytesRead } = await file.read(Buffer.alloc(sampleBytes), 0, sampleBytes, 0)
    return { bytes: buffer.subarray(0, bytesRead), isWhole: size <= bytesRead }
  } finally {
    await file.close()
  }
}

function guessEncoding({ bytes, isWhole }: Sample): Encoding {
  if ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff)) return 'utf-16'
  try {
    // The sample may end within a character.
    new TextDecoder('utf-8', { fatal: true }).decode(bytes, { stream: !isWhole })
    return 'utf-8'
  } catch {
    return 'windows-1252'
  }
}

/** The text of the sample; of a longer file without its last line, which may be cut. */
function textOf({ bytes, isWhole }: Sample, encoding: Encoding): string {
  const name = encoding === 'utf-16' ? (bytes[0] === 0xfe && bytes[1] === 0xff ? 'utf-16be' : 'utf-16le') : encoding
  const text = new TextDecoder(name).decode(bytes)
  return isWhole ? text : text.slice(0, Math.max(text.lastIndexOf('\n'), text.lastIndexOf('\r')) + 1)
}

interface Record {
  readonly cells: readonly string[]
  readonly line: number
}

const pieceCharacters = 4096

/**
 * The header and the first rows; once there are as many records as asked for, the rest of the sample is not looked at.
 */
function recordsOf(
  sample: Sample,
  settings: Pick<ForeignMapping, 'delimiter' | 'encoding' | 'skipLines'>,
  enough = Number.POSITIVE_INFINITY,
): { records: Record[]; faults: CsvFault[] } {
  const records: Record[] = []
  const faults: CsvFault[] = []
  const scanner = foreignScanner(settings, {
    record: (cells, line) => records.push({ cells, line }),
    fault: (fault) => faults.push(fault),
  })
  const text = textOf(sample, settings.encoding)
  for (let at = 0; at < text.length; at += pieceCharacters) {
    if (records.length >= enough) return { records, faults }
    scanner.take(text.slice(at, at + pieceCharacters))
  }
  // In a longer file a quote that is still open may close behind the sample.
  if (sample.isWhole) scanner.end()
  return { records, faults }
}

function guess(sample: Sample, zone: string): ForeignMapping {
  const encoding = guessEncoding(sample)
  const shape = guessShape(
    textOf(sample, encoding)
      .split(/\r\n|\r|\n/)
      .slice(0, guessLines),
  )
  const { records } = recordsOf(sample, { encoding, ...shape }, guessLines)
  return guessMapping({ records: records.slice(0, guessLines).map(({ cells }) => cells), encoding, zone, ...shape })
}

/** Whether a file has every column that a saved mapping reads. */
function fitsMapping(sample: Sample, mapping: ForeignMapping): boolean {
  const [header] = recordsOf(sample, mapping, 1).records
  if (!header) return false
  const names = new Set(columnNames(header.cells))
  return columnsRead(mapping).every((column) => names.has(column))
}

const numberOf = (text: string): number | null => (text === '' ? null : Number(text))

/** A row of the folder's file by its columns, as the screen shows it. */
function storedView(header: readonly string[], cells: readonly string[]): StoredRowView {
  const cell = (name: string) => cells[header.indexOf(name)] ?? ''
  return {
    scale: cell('scale'),
    ticket: cell('ticket'),
    reading: cell('reading'),
    at: cell('weighed_at') || cell('taken_at'),
    unit: cell('unit'),
    group: cell('group'),
    circuit: cell('circuit'),
    weightLb: numberOf(cell('weight_lb')),
    grossLb: numberOf(cell('gross_lb')),
    psi: numberOf(cell('psi')),
    elevationFt: numberOf(cell('elevation_ft')),
    temperatureF: numberOf(cell('temperature_f')),
    lift: cell('lift'),
    driver: cell('driver'),
    lane: cell('lane'),
  }
}

interface PreviewAsked {
  readonly path: string
  /** null: a saved one that fits, or else guessed. */
  readonly mapping: ForeignMapping | null
  readonly zone: string
  readonly saved: readonly { readonly name: string; readonly mapping: ForeignMapping }[]
  readonly facts: ForeignFacts
}

/** The first rows of a foreign file as a mapping reads them. Errors: TarelineError `no-file`, `too-large`. */
export async function previewForeign({
  path,
  mapping: given,
  zone,
  saved,
  facts,
}: PreviewAsked): Promise<ForeignPreview> {
  const sample = await readSample(path)
  const fits = saved.filter(({ mapping }) => fitsMapping(sample, mapping))
  const taken = given === null ? fits[0] : undefined
  const mapping = given ?? taken?.mapping ?? guess(sample, zone)
  const {
    records: [header, ...rows],
    faults,
  } = recordsOf(sample, mapping)
  const columns = columnNames(header?.cells ?? [])
  const gaps =
    header === undefined
      ? [phrase('The file has no header row under these settings.')]
      : mappingGaps(
          mapping,
          columns.flatMap((name) => name ?? []),
        )
  const into = header === undefined || gaps.length > 0 ? undefined : translator(mapping, header.cells, facts)
  return {
    mapping,
    taken: taken?.name ?? null,
    fits: fits.map(({ name }) => name),
    columns,
    gaps,
    isWhole: sample.isWhole && rows.length <= shownRows,
    faults: faults.slice(0, shownRows).map(({ line, accepted }) => ({
      line,
      message: phrase('The row cannot be read; {accepted} is needed.', { accepted }),
    })),
    rows: rows.slice(0, shownRows).map(({ cells, line }) => {
      const row = into?.translate(cells)
      return {
        line,
        cells: cells.slice(0, 200).map((cell) => cell.slice(0, longestCell)),
        problems: [...(row?.problems ?? [])],
        light: (row?.rows ?? []).flatMap((each) => {
          const { weightLb } = storedView(into?.header ?? [], each.cells)
          const column = into?.origins[each.origin]?.['weight_lb'] ?? null
          return weightLb !== null && weightLb < leastGroupLb ? [{ column, weightLb }] : []
        }),
        stored: (row?.rows ?? []).map((each) => storedView(into?.header ?? [], each.cells)),
      }
    }),
  }
}
