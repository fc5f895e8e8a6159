import { type DateOrder, type ForeignMapping, foreignUnits } from '#core/foreign/mapping/mapping.ts'
import type { Draws } from '#tests/api/hostile-values.ts'
import { bridgeTickets, latin, longTickets, sensorLog } from '#tests/exchange/foreign-files.ts'

/** A valid file and, where it is not guessed, how it is read. */
export interface ValidFile {
  readonly name: string
  readonly bytes: Buffer
}

const wideReadings = [
  'Record id|Date|Time|T-101 drive bar|V-201 left bar|V-201 right bar|Elevation m',
  'W-1|2025-03-21|14:30|2.47|2.1|2.2|805',
  'W-2|2025-03-21|15:00|2.5|2.2|2.2|805',
  'W-3|2025-03-22|15:00|2.5||2.2|',
]
  .join('\n')
  .concat('\n')

export const validFiles: readonly ValidFile[] = [
  { name: 'bridge tickets in Windows-1252', bytes: latin(bridgeTickets) },
  { name: 'bridge tickets in UTF-8', bytes: Buffer.from(`\ufeff${bridgeTickets}`) },
  { name: 'sensor log', bytes: Buffer.from(sensorLog) },
  { name: 'long tickets', bytes: Buffer.from(longTickets) },
  { name: 'long tickets in UTF-16', bytes: Buffer.from(`\ufeff${longTickets}`, 'utf16le') },
  { name: 'wide readings', bytes: Buffer.from(wideReadings) },
]

/** The mapping of the wide readings, whose places no title tells. */
export const wideReadingsMapping = (guess: ForeignMapping): ForeignMapping => ({
  ...guess,
  kind: 'readings',
  layout: 'wide',
  place: 'circuit',
  pressure: 'bar',
  elevation: 'm',
  fields: {
    reading: { column: 'Record id' },
    date: { column: 'Date' },
    time: { column: 'Time' },
    elevation: { column: 'Elevation m' },
  },
  values: [
    ['T-101 drive bar', 'T-101', 'drive', 'main'],
    ['V-201 left bar', 'V-201', 'tandem', 'left'],
    ['V-201 right bar', 'V-201', 'tandem', 'right'],
  ].map(([column = '', unit = '', group = '', circuit = '']) => ({
    column,
    unit: { fixed: unit },
    group: { fixed: group },
    circuit: { fixed: circuit },
  })),
})

const strangeCells = [
  '',
  ' ',
  '"',
  '""',
  "'",
  '=1+1',
  "'=1",
  '\0',
  'a\0b',
  '\u202e',
  '\ud800',
  '💀',
  'x'.repeat(300),
  '9'.repeat(400),
  '-1',
  '1e9',
  'NaN',
  '1,2,3',
  '1.2.3',
  '99999999999',
  '0',
  '-0',
  '+5',
  '٣',
  '12 stones',
  '5000 t',
  '31.02.2025',
  '2025-02-30',
  '00:00',
  '24:00',
  '99.99.9999',
  '2025-03-09 02:30',
  '2025-03-21T20:30:00+99:99',
  '9999-12-31 23:59',
  '1900-01-01 00:00',
  'T-999',
  'V-201',
  'T-101',
  'tandem',
  'trailer',
  'nowhere',
  '__proto__',
  'constructor',
  'toString',
  '\t',
  ';',
  '|',
  ',',
]

type Mutation = (bytes: Buffer, draws: Draws) => Buffer

const asText = (bytes: Buffer): string => bytes.toString('latin1')
const linesOf = (bytes: Buffer): string[] => asText(bytes).split('\n')
const joined = (lines: readonly string[]): Buffer => Buffer.from(lines.join('\n'), 'latin1')
const splitAt = /[;,\t|]/

/** Ways in which files come damaged, or other than agreed. */
const mutations: Readonly<Record<string, Mutation>> = {
  'bytes flipped': (bytes, { below }) => {
    const copy = Buffer.from(bytes)
    for (let count = 1 + below(4); count > 0 && copy.length > 0; count -= 1) {
      const at = below(copy.length)
      copy[at] = (copy[at] ?? 0) ^ (1 << below(8))
    }
    return copy
  },
  'delimiters changed': (bytes, { pick, chance }) => {
    const sign = pick([',', ';', '\t', '|'])
    return Buffer.from(
      asText(bytes).replaceAll(/[;,\t|]/g, (old) => (chance(0.3) ? sign : old)),
      'latin1',
    )
  },
  'quote opened': (bytes, { below }) => {
    const at = below(bytes.length + 1)
    return Buffer.concat([bytes.subarray(0, at), Buffer.from('"'), bytes.subarray(at)])
  },
  'encodings mixed': (bytes, { below, pick }) => {
    const at = below(bytes.length + 1)
    const strange = pick([
      Buffer.from('Größe', 'latin1'),
      Buffer.from('Größe 💀'),
      Buffer.from('Größe', 'utf16le'),
      Buffer.from([0xff, 0xfe]),
      Buffer.from([0xef, 0xbb, 0xbf]),
      Buffer.from([0xc3]),
      Buffer.from([0xed, 0xa0, 0x80]),
    ])
    return Buffer.concat([bytes.subarray(0, at), strange, bytes.subarray(at)])
  },
  'cut off': (bytes, { below }) => bytes.subarray(0, below(bytes.length + 1)),
  'line cut': (bytes, { below }) => {
    const lines = linesOf(bytes)
    const at = below(lines.length)
    return joined(lines.with(at, (lines[at] ?? '').slice(0, below((lines[at] ?? '').length + 1))))
  },
  'lines doubled': (bytes, { below }) => {
    const lines = linesOf(bytes)
    const at = below(lines.length)
    return joined(lines.toSpliced(below(lines.length + 1), 0, lines[at] ?? ''))
  },
  'lines swapped': (bytes, { below }) => {
    const lines = linesOf(bytes)
    const [one, other] = [below(lines.length), below(lines.length)]
    return joined(lines.with(one, lines[other] ?? '').with(other, lines[one] ?? ''))
  },
  'huge cell': (bytes, { below, pick }) => {
    const at = below(bytes.length + 1)
    return Buffer.concat([
      bytes.subarray(0, at),
      Buffer.from(pick(['9', 'x', ' ', '"', '-', '.']).repeat(1000 + below(20_000))),
      bytes.subarray(at),
    ])
  },
  NULs: (bytes, { below }) => {
    const at = below(bytes.length + 1)
    return Buffer.concat([bytes.subarray(0, at), Buffer.alloc(1 + below(8)), bytes.subarray(at)])
  },
  'cell replaced': (bytes, { below, pick }) => {
    const lines = linesOf(bytes)
    const at = below(lines.length)
    const line = lines[at] ?? ''
    const sign = splitAt.exec(line)?.[0] ?? ','
    const cells = line.split(sign)
    return joined(
      lines.with(at, cells.with(below(cells.length), Buffer.from(pick(strangeCells)).toString('latin1')).join(sign)),
    )
  },
  'digit changed': (bytes, { below }) => {
    const places = [...asText(bytes).matchAll(/\d/g)].map(({ index }) => index)
    const copy = Buffer.from(bytes)
    const at = places[below(places.length)]
    if (at !== undefined) copy[at] = 0x30 + below(10)
    return copy
  },
  'column dropped': (bytes, { below }) => {
    const lines = linesOf(bytes)
    const sign = splitAt.exec(lines[0] ?? '')?.[0] ?? splitAt.exec(lines[1] ?? '')?.[0] ?? ','
    const at = below(8)
    return joined(lines.map((line) => line.split(sign).toSpliced(at, 1).join(sign)))
  },
  'line breaks changed': (bytes, { pick }) =>
    Buffer.from(asText(bytes).replaceAll(/\r?\n/g, pick(['\r', '\n', '\r\n', '\n\n', '\n\r', ''])), 'latin1'),
  emptied: () => Buffer.alloc(0),
}

const kinds = Object.keys(mutations)

/** Damages a file one to three times; answers what was done too. */
export function mutated(bytes: Buffer, draws: Draws): { bytes: Buffer; done: string[] } {
  const done = Array.from({ length: draws.chance(0.08) ? 0 : 1 + draws.below(3) }, () => draws.pick(kinds))
  return { bytes: done.reduce((now, kind) => mutations[kind]?.(now, draws) ?? now, bytes), done }
}

/** Sets one thing of a mapping otherwise. */
export function mutatedMapping(mapping: ForeignMapping, { pick, chance, below }: Draws): ForeignMapping {
  if (chance(0.6)) return mapping
  const orders: readonly DateOrder[] = ['year first', 'day first', 'month first']
  const fields = Object.keys(mapping.fields) as (keyof ForeignMapping['fields'])[]
  return pick<() => ForeignMapping>([
    () => ({ ...mapping, delimiter: pick(['comma', 'semicolon', 'tab', 'bar'] as const) }),
    () => ({ ...mapping, encoding: pick(['utf-8', 'utf-16', 'windows-1252'] as const) }),
    () => ({ ...mapping, skipLines: below(5) }),
    () => ({ ...mapping, dateOrder: pick(orders) }),
    () => ({
      ...mapping,
      decimal: pick(['point', 'comma'] as const),
      thousands: pick(['none', 'comma', 'point', 'space', 'apostrophe'] as const),
    }),
    () => ({ ...mapping, weight: pick(foreignUnits.weight), pressure: pick(foreignUnits.pressure) }),
    () => ({ ...mapping, zone: pick(['UTC', 'Asia/Kathmandu', 'America/Denver', 'Pacific/Apia']) }),
    () => ({ ...mapping, kind: mapping.kind === 'tickets' ? 'readings' : 'tickets' }),
    () => ({ ...mapping, layout: mapping.layout === 'long' ? 'wide' : 'long' }),
    () => ({ ...mapping, place: mapping.place === 'serial' ? 'circuit' : 'serial' }),
    () => {
      const { [pick(fields)]: _, ...others } = mapping.fields
      return { ...mapping, fields: others }
    },
    () => ({
      ...mapping,
      fields: {
        ...mapping.fields,
        [pick(['scale', 'ticket', 'date', 'unit', 'group', 'reading', 'gross', 'lift'] as const)]: pick([
          { fixed: pick(strangeCells.filter((cell) => cell.trim() !== '')).slice(0, 200) },
          { column: pick(['Ticket', 'Datum', 'serial', 'column 2', '__proto__']) },
        ]),
      },
    }),
  ])()
}
