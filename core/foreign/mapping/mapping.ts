import { phrase } from '#core/words/phrase.ts'
import { z } from 'zod'
import { unitNamed } from '#core/foreign/mapping/cells.ts'
import type { MeasureSet } from '#core/words/measures.ts'
import type { GroupRole } from '#core/words/vocabulary.ts'

/**
 * How a CSV file from elsewhere, a scale operator's or a sensor app's, is to be read: what a person sets on the screen
 * and saves by name.
 */

/** The one name of a picked file in its inbox: what it is called elsewhere may be no name for a file here. */
export const foreignFile = 'foreign.csv'

export const foreignKinds = ['tickets', 'readings'] as const
export type ForeignKind = (typeof foreignKinds)[number]

export const delimiters = { comma: ',', semicolon: ';', tab: '\t', bar: '|' } as const
export type Delimiter = keyof typeof delimiters
export const encodings = ['utf-8', 'utf-16', 'windows-1252'] as const
export type Encoding = (typeof encodings)[number]
export const dateOrders = ['year first', 'day first', 'month first'] as const
export type DateOrder = (typeof dateOrders)[number]
export const decimalSigns = ['point', 'comma'] as const
/** The sign that parts the thousands where the other one is the decimal sign. */
export const otherSign = (sign: (typeof decimalSigns)[number]): (typeof decimalSigns)[number] =>
  sign === 'comma' ? 'point' : 'comma'
export const thousandsSigns = ['none', 'comma', 'point', 'space', 'apostrophe'] as const
export const foreignUnits = {
  weight: ['lb', 'kg', 't'],
  pressure: ['psi', 'kPa', 'bar'],
  elevation: ['ft', 'm'],
  temperature: ['°F', '°C'],
} as const
export type ForeignQuantity = keyof typeof foreignUnits

/**
 * `long`: a row for each weight or pressure; `wide`: a row for each ticket or reading, a column for each weight or
 * pressure.
 */
const layouts = ['long', 'wide'] as const
/**
 * What tells whose pressure it is: unit, group and circuit, or the sensor's serial and where it was mounted at that
 * time.
 */
const pressurePlaces = ['circuit', 'serial'] as const

const text = z.string().max(200)
const column = z.object({ column: z.string().min(1).max(200) })
/** A column of the file by its name, or one value for all rows. */
const source = z.union([column, z.object({ fixed: z.string().trim().min(1).max(200) })])
export type ForeignSource = z.infer<typeof source>

const fields = z
  .object({
    scale: source,
    ticket: source,
    reading: source,
    date: source,
    time: source,
    unit: source,
    group: source,
    circuit: source,
    serial: source,
    value: column,
    gross: source,
    elevation: source,
    temperature: source,
    lift: source,
    driver: source,
    lane: source,
  })
  .partial()
export type ForeignField = keyof z.infer<typeof fields>

/** A column of weights or pressures in a wide file, and whose they are. */
const valueColumn = z.object({
  column: z.string().min(1).max(200),
  unit: source.optional(),
  group: source.optional(),
  circuit: source.optional(),
  serial: source.optional(),
})
export type ValueColumn = z.infer<typeof valueColumn>

/** Built once: each takes a moment to make. */
const knownZones = new Map<string, boolean>()
export function isZone(name: string): boolean {
  const known = knownZones.get(name)
  if (known !== undefined) return known
  let found = /^[A-Za-z][\w+\-/]{0,99}$/.test(name)
  try {
    if (found) new Intl.DateTimeFormat('en-US', { timeZone: name })
  } catch {
    found = false
  }
  if (knownZones.size < 1000) knownZones.set(name, found)
  return found
}

export const foreignMapping = z.object({
  kind: z.enum(foreignKinds),
  delimiter: z.enum(['comma', 'semicolon', 'tab', 'bar']),
  encoding: z.enum(encodings),
  /** Lines before the header. */
  skipLines: z.number().int().min(0).max(100),
  dateOrder: z.enum(dateOrders),
  /** IANA name of the zone in which local times are written; an offset in the cell comes before it. */
  zone: z
    .string()
    .max(100)
    .refine(isZone, {
      error: () => phrase('The IANA name of a time zone is accepted, such as America/Denver'),
    }),
  /** null: the numbers can be read in two ways that both make sense, and a person has not said which. */
  decimal: z.enum(decimalSigns).nullable(),
  thousands: z.enum(thousandsSigns),
  weight: z.enum(foreignUnits.weight),
  pressure: z.enum(foreignUnits.pressure),
  elevation: z.enum(foreignUnits.elevation),
  temperature: z.enum(foreignUnits.temperature),
  layout: z.enum(layouts),
  place: z.enum(pressurePlaces),
  fields,
  /** Of a wide file. */
  values: z.array(valueColumn).max(40),
})
export type ForeignMapping = z.infer<typeof foreignMapping>

export const mappingName = text.trim().min(1)

interface FieldNeed {
  readonly field: ForeignField
  readonly label: string
  readonly need: 'always' | 'optional'
  readonly hint?: string
}

const need = (field: ForeignField, label: string, kind: FieldNeed['need'] = 'always', hint?: string): FieldNeed => ({
  field,
  label,
  need: kind,
  ...(hint ? { hint } : {}),
})

const placeFields = ({ kind, place }: Pick<ForeignMapping, 'kind' | 'place'>): readonly FieldNeed[] => {
  if (kind === 'tickets')
    return [
      need('unit', phrase('Unit')),
      need('group', phrase('Axle group'), 'always', phrase('its name, or its role')),
    ]
  return place === 'serial'
    ? [need('serial', phrase('Sensor serial'))]
    : [
        need('unit', phrase('Unit')),
        need('group', phrase('Axle group'), 'always', phrase('its name, or its role')),
        need('circuit', phrase('Circuit')),
      ]
}

/** The fields that a mapping fills for a whole row, in the order of the screen. */
export function rowFields(mapping: Pick<ForeignMapping, 'kind' | 'place' | 'layout'>): readonly FieldNeed[] {
  const perRow = mapping.layout === 'long' ? placeFields(mapping) : []
  if (mapping.kind === 'tickets') {
    return [
      need('scale', phrase('Scale')),
      need('ticket', phrase('Ticket number')),
      need('date', phrase('Date'), 'always', phrase('or date and time in one')),
      need('time', phrase('Time'), 'optional', phrase('where it has a column of its own')),
      ...perRow,
      ...(mapping.layout === 'long' ? [need('value', phrase('Weight'))] : []),
      need('gross', phrase('Gross'), 'optional'),
      need('driver', phrase('Driver'), 'optional'),
      need('lane', phrase('Loading lane'), 'optional'),
    ]
  }
  return [
    need('date', phrase('Date'), 'always', phrase('or date and time in one')),
    need('time', phrase('Time'), 'optional', phrase('where it has a column of its own')),
    ...perRow,
    ...(mapping.layout === 'long' ? [need('value', phrase('Pressure'))] : []),
    need('reading', phrase('Reading’s name'), 'optional', phrase('none: made of unit and time')),
    need('scale', phrase('Scale'), 'optional'),
    need('ticket', phrase('Ticket number'), 'optional'),
    need('elevation', phrase('Elevation'), 'optional'),
    need('temperature', phrase('Temperature'), 'optional'),
    need('lift', phrase('Lift axles'), 'optional', phrase('raised, lowered or none')),
    need('driver', phrase('Driver'), 'optional'),
    need('lane', phrase('Loading lane'), 'optional'),
  ]
}

/** What tells whose a column of a wide file is. */
export const valueFields = placeFields

/** Every column of the file that a mapping reads, each once. */
export function columnsRead(mapping: ForeignMapping): string[] {
  const { fields: chosen, values, layout } = mapping
  const inUse = rowFields(mapping).flatMap(({ field }) => chosen[field] ?? [])
  const perValue =
    layout === 'wide'
      ? values.flatMap((value) => [
          { column: value.column },
          ...placeFields(mapping).flatMap(({ field }) => value[field as 'unit'] ?? []),
        ])
      : []
  return [...new Set([...inUse, ...perValue].flatMap((each) => ('column' in each ? each.column : [])))]
}

/** What a mapping still lacks to read a file with these columns, each as a sentence; none: it can be imported. */
export function mappingGaps(mapping: ForeignMapping, columns: readonly string[]): string[] {
  const known = new Set(columns)
  const missing = rowFields(mapping).flatMap(({ field, label, need: kind }) =>
    kind === 'always' && mapping.fields[field] === undefined
      ? [phrase('{label}: choose its column, or one value for all rows.', { label })]
      : [],
  )
  const values =
    mapping.layout === 'long'
      ? []
      : mapping.values.length === 0
        ? [
            phrase(
              '{kind, select, tickets {Choose at least one column that holds a weight.} other {Choose at least one column that holds a pressure.}}',
              { kind: mapping.kind },
            ),
          ]
        : mapping.values.flatMap((value) =>
            placeFields(mapping).flatMap(({ field, label }) =>
              value[field as 'unit'] === undefined
                ? [
                    phrase('{label} of the column “{column}”: choose its column, or one value for all rows.', {
                      label,
                      column: value.column,
                    }),
                  ]
                : [],
            ),
          )
  const signs =
    mapping.decimal === null
      ? [phrase('Decimal sign: 33,940 can be 33.94 or 33 thousand in this file: choose the sign.')]
      : []
  const lost = columnsRead(mapping).flatMap((name) =>
    known.has(name) ? [] : [phrase('The file has no column “{name}”.', { name })],
  )
  return [...missing, ...values, ...signs, ...lost]
}

/** The column of a file of rows to mend that says what is wrong; it is passed over when the file is brought back. */
export const mendColumn = 'What is wrong (Tareline)'

/**
 * The columns of a header by the names they are chosen under: trimmed, one without a name by its place, and one whose
 * name is taken with its place behind it. The column of a file to mend has none.
 */
export function columnNames(header: readonly string[]): (string | null)[] {
  const taken = new Set<string>()
  return header.map((cell, at) => {
    const title = cell.trim().slice(0, 180)
    if (title === mendColumn) return null
    let name = title === '' ? `column ${at + 1}` : title
    if (taken.has(name)) name = `${name} (column ${at + 1})`
    while (taken.has(name)) name = `${name}′`
    taken.add(name)
    return name
  })
}

/** As much of a title as tells what its column is; patterns never see more. */
const longestTitle = 200

/** A title as it is compared: small letters without accents, units and signs. */
export const plainTitle = (title: string): string =>
  title
    .slice(0, longestTitle)
    .toLowerCase()
    .replaceAll('ß', 'ss')
    .normalize('NFD')
    .replaceAll(/\p{M}/gu, '')
    .replaceAll(/[([][^)\]]*[)\]]/g, ' ')
    .replaceAll(/[^a-z0-9]+/g, ' ')
    .trim()

/**
 * Trade words for each field, most telling first, in English, German, French and Spanish: common practice of scale
 * tickets and pressure logs.
 */
export const fieldWords: readonly (readonly [Exclude<ForeignField, 'value'>, RegExp])[] = [
  ['ticket', /\b(ticket|wiegeschein\w*|wagschein\w*|schein|beleg\w*|weigh ?ticket|slip|bon|boleto|boleta|docket)\b/],
  ['reading', /\b(reading|reading id|record id|messung|messwert id|lectura|lecture)\b/],
  [
    'serial',
    /\b(serial|serial no|sensor|sensor id|seriennummer|seriennr|serien nr|device|device id|numero de serie|capteur)\b/,
  ],
  ['scale', /\b(scale|scale name|weighbridge|waage|station|location|site|bascule|bascula|pont bascule)\b/],
  [
    'date',
    /\b(date|datum|date time|datetime|timestamp|weighed at|weighed|taken at|fecha|zeitpunkt|zeitstempel|day|tag)\b/,
  ],
  ['time', /\b(time|uhrzeit|zeit|hora|heure|clock)\b/],
  [
    'gross',
    /\b(gross|gross weight|brutto|bruttogewicht|gesamt|gesamtgewicht|total|brut|bruto|poids brut|peso bruto|gvw|gcw)\b/,
  ],
  ['group', /\b(axle group|group|axle|achsgruppe|achse|gruppe|essieu|groupe|eje|grupo)\b/],
  ['circuit', /\b(circuit|kreis|luftkreis|circuito|channel|side)\b/],
  [
    'unit',
    /\b(unit|unit no|vehicle|truck|tractor|fahrzeug|kennzeichen|plate|vehicule|vehiculo|unidad|fleet no|asset|lkw)\b/,
  ],
  ['elevation', /\b(elevation|altitude|hohe|hoehe|altitud)\b/],
  ['temperature', /\b(temperature|temp|temperatur|temperatura)\b/],
  ['lift', /\b(lift|lift axle|liftachse)\b/],
  ['lane', /\b(lane|loading lane|loaded at|ladespur|ladestelle|voie de chargement|carril de carga)\b/],
  ['driver', /\b(driver|driver name|fahrer|fahrername|conducteur|chauffeur|conductor|chofer)\b/],
]

export const valueWords = {
  weight: /\b(weight|gewicht|poids|peso|masse|last|load|net|netto)\b/,
  pressure: /\b(pressure|druck|pression|presion|psi|kpa|bar)\b/,
} as const

/** Titles of the units of a combination in a wide file. */
export const tractorWords =
  /\b(tractor|truck|zugmaschine|zugfahrzeug|sattelzugmaschine|tracteur|unit|lkw|vehicle|fahrzeug)\b/
export const trailerWords = /\b(trailer|anhanger|auflieger|sattelauflieger|remorque|remolque|semi)\b/

/** Titles of axle groups, with the role that finds them on a unit and whether they are the trailer's. */
export const groupWords: readonly (readonly [RegExp, 'steer' | 'drive' | 'trailer' | 'lift'])[] = [
  [/\b(steer|steers|steering|lenkachsen?|vorderachsen?|front axle|directeur)\b/, 'steer'],
  [/\b(drive|drives|antriebsachsen?|antrieb|hinterachsen?|motriz|moteur)\b/, 'drive'],
  [/\b(trailer|tandem|tridem|spread|anhanger(achsen?)?|auflieger(achsen?)?|remorque|remolque)\b/, 'trailer'],
  [/\b(lift|tag|pusher|liftachse)\b/, 'lift'],
]

/** The unit of measure that a title names: in brackets, or as its last word. */
export function unitInTitle(quantity: ForeignQuantity, title: string): string | undefined {
  const short = title.slice(0, longestTitle)
  const inside = /[([]\s*([^)\]\s]+)\s*[)\]]/.exec(short)?.[1]
  const last = /(?:^|[\s_.,-])([a-zA-Z°]+)\s*$/.exec(short)?.[1]
  return (
    (inside === undefined ? undefined : unitNamed(quantity, inside)) ??
    (last === undefined ? undefined : unitNamed(quantity, last))
  )
}

export interface NamedGroup {
  readonly name: string
  readonly role: GroupRole
  readonly circuits: readonly string[]
}

interface NamedMount {
  readonly unit: string
  readonly group: string
  readonly circuit: string
  readonly fromMs: number
  /** Infinity: it is there still. */
  readonly untilMs: number
}

/** What the rows of a foreign file are held against: the fleet's names, and where each sensor was when. */
export interface ForeignFacts {
  /** In which the fleet reads what is wrong with a value. */
  readonly measures: MeasureSet
  readonly scales: ReadonlySet<string>
  readonly units: ReadonlyMap<string, readonly NamedGroup[]>
  readonly mounts: ReadonlyMap<string, readonly NamedMount[]>
}

/** The only one of a list that a test fits; undefined for none or several. */
function only<T>(list: readonly T[], fits: (each: T) => boolean): T | undefined {
  const found = list.filter(fits)
  return found.length === 1 ? found[0] : undefined
}

/** The group that a text names: by its name, in capitals or not, or by its role where the unit has one such group. */
export const groupNamed = (groups: readonly NamedGroup[], text: string): NamedGroup | undefined =>
  groups.find(({ name }) => name === text) ??
  only(groups, ({ name }) => name.toLowerCase() === text.toLowerCase()) ??
  only(groups, ({ role }) => role === text.toLowerCase())

export const circuitNamed = ({ circuits }: NamedGroup, text: string): string | undefined =>
  circuits.find((name) => name === text) ?? only(circuits, (name) => name.toLowerCase() === text.toLowerCase())

export const namedMountAt = (mounts: readonly NamedMount[], at: number): NamedMount | undefined =>
  mounts.find(({ fromMs, untilMs }) => fromMs <= at && at < untilMs)
