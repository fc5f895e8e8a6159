import { ORPCError } from '@orpc/client'
import fc from 'fast-check'
import { timeNow } from '#core/store/clock.ts'
import { addDays, dayOf } from '#core/words/day.ts'
import { writeFiles } from '#tests/exchange/small-fleet.ts'
import { join } from 'node:path'
import { upToDate } from '#core/api/freshen.ts'
import { type LawApp, turnClock } from './law-fleet.ts'

/** One thing that somebody does, by numbers that pick among what is there. */
export interface LawStep {
  readonly what: keyof typeof doings
  readonly pick: readonly number[]
}

const by = 'Q. Tarn'
const at = <T>(list: readonly T[], n: number): T | undefined => (list.length === 0 ? undefined : list[n % list.length])
const minute = (ms: number) => new Date(Math.floor(ms / 60_000) * 60_000).toISOString()

/** A time of the past year and a bit, never ahead. */
const past = (n: number): string => minute(timeNow() - ((n * 7919) % (430 * 24)) * 3_600_000 - 60_000)

const combos = [['A-1', 'C-1'], ['A-2', 'C-2'], ['A-1', 'C-2'], ['A-2'], ['B-9'], ['C-1'], ['D-4'], ['D-4']] as const

const sensed: Readonly<Record<string, readonly (readonly [group: string, circuit: string])[]>> = {
  'A-1': [['drive', 'main']],
  'A-2': [['drive', 'main']],
  'B-9': [['rear', 'main']],
  'D-4': [
    ['drive', 'main'],
    ['tag', 'main'],
  ],
  'C-1': [
    ['tandem', 'left'],
    ['tandem', 'right'],
  ],
  'C-2': [
    ['tandem', 'left'],
    ['tandem', 'right'],
  ],
}
const weighed: Readonly<Record<string, readonly string[]>> = {
  'A-1': ['steer', 'drive'],
  'A-2': ['steer', 'drive'],
  'B-9': ['steer', 'pusher', 'rear'],
  'D-4': ['steer', 'drive', 'tag'],
  'C-1': ['tandem'],
  'C-2': ['tandem'],
}

const lifts = [null, 'none', 'raised', 'lowered'] as const
const elevations = [null, 700, 5200] as const

/** Pressures near a line, with a circuit left out or a side leaning now and then. */
function pressures(units: readonly string[], share: number, n: number) {
  const rows = units.flatMap((unit) =>
    (sensed[unit] ?? []).map(([group, circuit], i) => ({
      unit,
      group,
      circuit,
      psi: Math.round((12 + share * 58 + ((n * 13 + i * 7) % 9) / 4 + (n % 11 === 3 && i === 1 ? 30 : 0)) * 10) / 10,
    })),
  )
  return n % 7 === 2 && rows.length > 1 ? rows.slice(1) : rows
}

const weights = (units: readonly string[], share: number, n: number) =>
  units.flatMap((unit) =>
    (weighed[unit] ?? []).flatMap((group, i) => {
      if (n % 13 === 5 && i === 0) return []
      const base = group === 'steer' ? 11_000 + 600 * share : group === 'pusher' ? 6000 : 9000 + share * 24_500
      return [
        {
          unit,
          group,
          weightLb: Math.round((base + ((n * 31 + i * 17) % 40) * 20 + (n % 9 === 4 ? 900 : 0)) / 20) * 20,
        },
      ]
    }),
  )

/** The weights of a ticket with those of drive and tag as one, as where both stood on one platform. */
function asTogether(own: ReturnType<typeof weights>) {
  const both = own.filter(({ unit, group }) => unit === 'D-4' && group !== 'steer')
  if (both.length < 2) return { weights: own }
  return {
    weights: own.filter((each) => !both.includes(each)),
    together: [
      {
        unit: 'D-4',
        groups: ['drive', 'tag'] as [string, string],
        weightLb: both.reduce((sum, { weightLb }) => sum + weightLb, 0),
      },
    ],
  }
}

let serial = 0

async function weighIn({ client }: LawApp, [a = 0, b = 0, c = 0, d = 0]: readonly number[]) {
  const units = [...(at(combos, a) ?? ['A-1'])]
  const rows = 1 + (b % 3)
  const start = timeNow() - ((c * 7919) % (400 * 24)) * 3_600_000 - 4 * 3_600_000
  const tickets = Array.from({ length: rows }, (_, i) => {
    const share = [0.3, 0.95, 0.6][i] ?? 0.5
    const own = weights(units, share, d + i)
    serial += 1
    return {
      ticket: `L${serial}`,
      weighedAt: minute(start + i * 3_000_000),
      grossLb: d % 5 === 0 ? null : own.reduce((sum, { weightLb }) => sum + weightLb, 0),
      ...((c + i) % 4 === 0 ? { weights: own } : asTogether(own)),
      reading:
        (d + i) % 6 === 5
          ? null
          : {
              elevationFt: at(elevations, d) ?? null,
              temperatureF: null,
              lift: at(lifts, b + d) ?? null,
              pressures: pressures(units, share, d + i),
            },
    }
  })
  const calibrate =
    rows < 2 || c % 3 === 0
      ? []
      : units.flatMap((unit) =>
          [...new Set((sensed[unit] ?? []).map(([group]) => group))].map((group) => ({ unit, group })),
        )
  await client.weighIn.save({
    units,
    scale: d % 4 === 0 ? 'South Platform' : 'North Platform',
    localZone: null,
    tickets,
    readings:
      b % 4 === 0
        ? [
            {
              takenAt: minute(start),
              elevationFt: null,
              temperatureF: null,
              lift: null,
              pressures: pressures(units, 0.5, d),
            },
          ]
        : [],
    calibrate,
    by,
  })
}

async function reading({ client }: LawApp, [a = 0, b = 0, c = 0]: readonly number[]) {
  const units = [...(at(combos, a) ?? ['A-1'])]
  await client.weigh.save({
    units,
    takenAt: b % 3 === 0 ? minute(timeNow() - 60_000) : past(b),
    localZone: null,
    elevationFt: at(elevations, c) ?? null,
    temperatureF: 50,
    lift: at(lifts, c) ?? null,
    note: null,
    pressures: pressures(units, (c % 10) / 10, c),
    by,
  })
}

async function correct({ client }: LawApp, [a = 0, b = 0, c = 0]: readonly number[]) {
  const kind = a % 2 === 0 ? ('ticket' as const) : ('reading' as const)
  const { rows } = kind === 'ticket' ? await client.evidence.tickets({}) : await client.evidence.readings({})
  const row = at<{ readonly id: number }>(rows, b)
  if (!row) return
  const sheet = await client.evidence.sheet({ kind, id: row.id })
  const column = at(Object.keys(sheet.values), c)
  if (column === undefined) return
  const was = sheet.values[column] ?? null
  const now =
    column === 'weighed_at' || column === 'taken_at'
      ? past(c + b)
      : column === 'lift'
        ? (at(lifts, b) ?? null)
        : column === 'scale'
          ? (at(sheet.scales, b) ?? was)
          : typeof was === 'number'
            ? Math.round((was + (b % 2 === 0 ? 1 : -1) * (column.endsWith('_psi') ? 3 : 840)) * 10) / 10
            : column === 'elevation_ft'
              ? 3000
              : column.endsWith('_lb')
                ? 9000
                : was
  await client.evidence.correct({
    kind,
    id: row.id,
    was: { [column]: was },
    now: { [column]: now },
    reason: 'The paper says so',
    by,
    tryOut: c % 5 === 4,
  })
}

async function voidLine({ client }: LawApp, [a = 0]: readonly number[]) {
  const { rows } = await client.evidence.calibrations({})
  const line = at(
    rows.filter(({ voided }) => voided === null),
    a,
  )
  if (line) await client.weighIn.voidCalibration({ id: line.id, reason: 'A wheel stood off the platform', by })
}

async function undo({ client }: LawApp) {
  const last = await client.log.last()
  if (last && last.problem === null) await client.log.undo({ revision: last.revision, by })
}

async function swapCells({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  const serials = ['K-11', 'K-12', 'K-21', 'K-22', 'K-23', 'K-24', 'K-31']
  await client.bench.markSwapped({
    cells: serials
      .slice(a % 5, (a % 5) + 1 + (b % 3))
      .map((serial, i) => ({ serial, reason: at(['scheduled', 'low', 'dead'] as const, b + i) ?? 'low' })),
    on: past(b).slice(0, 10),
    cell: b % 2 === 0 ? null : 'CR2032',
    by,
  })
}

async function planVisit({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  await client.bench.addVisit({
    unit: at(['A-1', 'A-2', 'B-9', 'C-1', 'C-2'], a) ?? 'A-1',
    yard: b % 2 === 0 ? null : 'High Yard',
    on: addDays(dayOf(timeNow(), (await client.houseRules.zone()).zone), b % 90),
    by,
  })
}

async function editUnit({ client }: LawApp, [a = 0, b = 0, c = 0]: readonly number[]) {
  const number = at(['A-1', 'A-2', 'B-9', 'C-1', 'C-2'], a) ?? 'A-1'
  const { unit, groups, yards } = await client.fleet.unit({ unit: number })
  const group = at(groups, c)
  const circuit = group && at(group.circuits, c)
  const mount = circuit && at(circuit.mounts, c)
  const save = (
    subject: 'unit' | 'axle group' | 'circuit' | 'mount',
    id: number,
    was: Record<string, string | number | null>,
    values: Record<string, string | number | null>,
  ) =>
    client.fleet.save({
      subject,
      id,
      was,
      values,
      reason: 'The plate says so',
      localZone: null,
      workedAt: c % 2 === 0 ? null : past(c),
      by,
    })
  if (b % 5 === 0)
    await save('unit', unit.id, { yard_id: unit.values['yard_id'] ?? null }, { yard_id: at(yards, b + c)?.id ?? null })
  else if (b % 5 === 1)
    await save(
      'unit',
      unit.id,
      { gross_limit_lb: unit.values['gross_limit_lb'] ?? null },
      { gross_limit_lb: 60_000 + (c % 9) * 2500 },
    )
  else if (b % 5 === 2 && group)
    await save(
      'axle group',
      group.id,
      { limit_lb: group.values['limit_lb'] ?? null },
      { limit_lb: 20_000 + (c % 9) * 2000 },
    )
  else if (b % 5 === 3 && circuit)
    await save(
      'circuit',
      circuit.id,
      { air_springs: circuit.values['air_springs'] ?? null },
      { air_springs: 2 + 2 * (c % 2) },
    )
  else if (mount)
    await save(
      'mount',
      mount.id,
      { removed_at: mount.values['removed_at'] ?? null },
      { removed_at: c % 3 === 0 ? null : past(c) },
    )
}

async function editPlaces({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  const { yards, scales } = await client.fleet.basics()
  const [subject, list] = a % 2 === 0 ? (['yard', yards] as const) : (['scale', scales] as const)
  const record = at<{ readonly id: number; readonly values: Readonly<Record<string, string | number | null>> }>(list, b)
  if (!record) return
  const [column, value] =
    subject === 'scale' && b % 3 === 1
      ? (['tolerance_percent', 0.1 + (b % 4) / 10] as const)
      : subject === 'scale' && b % 3 === 2
        ? (['division_lb', 10 * (1 + (b % 8))] as const)
        : (['elevation_ft', b % 4 === 3 ? null : 300 + (b % 7) * 900] as const)
  await client.fleet.save({
    subject,
    id: record.id,
    was: { [column]: record.values[column] ?? null },
    values: { [column]: value },
    reason: 'Looked up',
    localZone: null,
    workedAt: null,
    by,
  })
}

async function editSensor({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  const { rows } = await client.fleet.sensors({})
  const sensor = at(rows, a)
  if (!sensor) return
  const [column, value] =
    b % 3 === 0
      ? (['reference', sensor.values['reference'] === 'gauge' ? 'absolute' : 'gauge'] as const)
      : b % 3 === 1
        ? (['resolution_psi', 0.5] as const)
        : (['report_every_s', 30] as const)
  await client.fleet.save({
    subject: 'sensor',
    id: sensor.id,
    was: { [column]: sensor.values[column] ?? null },
    values: { [column]: value },
    reason: 'Read off it',
    localZone: null,
    workedAt: null,
    by,
  })
}

async function recordWork({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  const { unit, groups } = await client.fleet.unit({ unit: at(['A-1', 'A-2', 'B-9', 'C-1', 'C-2'], a) ?? 'A-1' })
  const group = at(groups, b)
  await client.fleet.save({
    subject: 'event',
    id: null,
    was: {},
    values: {
      kind: at(['valve replaced', 'height set', 'body work', 'spring replaced'], b) ?? 'other',
      happened_at: past(b),
      note: null,
    },
    parent: b % 3 === 0 || !group ? { unitId: unit.id } : { unitId: unit.id, groupId: group.id },
    reason: null,
    localZone: null,
    workedAt: null,
    by,
  })
}

async function mountSensor({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  const { groups } = await client.fleet.unit({ unit: at(['A-1', 'A-2', 'B-9', 'C-1', 'C-2'], a) ?? 'A-1' })
  const circuit = at(
    groups.flatMap(({ circuits }) => circuits),
    b,
  )
  if (!circuit) return
  serial += 1
  await client.fleet.mount({
    serial: b % 3 === 0 ? 'K-31' : `K-new-${serial}`,
    circuitId: circuit.id,
    values: { mounted_at: past(b % 40) },
    localZone: null,
    newReference: b % 2 === 0 ? 'gauge' : 'absolute',
    by,
  })
}

async function mountMany({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  const bare = await client.fleet.bareCircuits({})
  const chosen = [at(bare, a), at(bare, a + 1)].flatMap((circuit) => circuit ?? [])
  serial += 1
  await client.fleet.mountMany({
    mounts: [...new Set(chosen)].map(({ circuitId, firstReadAt }, i) => ({
      circuitId,
      serial: `K-many-${serial}-${i}`,
      mountedAt: firstReadAt ?? past(b % 40),
    })),
    localZone: null,
    newReference: b % 2 === 0 ? 'gauge' : 'absolute',
    sensor: { cell: 'CR2450' },
    by,
  })
}

async function addUnit({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  serial += 1
  await client.fleet.addUnit({
    values: { number: `N-${serial}`, kind: 'trailer' },
    groups: [
      {
        values: { name: 'tandem', role: 'trailer', axles: 2, measured_by: 'circuit' },
        circuits: [{ values: { name: 'main' }, serial: a % 2 === 0 ? `K-unit-${serial}` : null }],
      },
    ],
    mountedAt: past(b % 40),
    localZone: null,
    newReference: 'gauge',
    sensor: {},
    by,
  })
}

async function copyOrRetire({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  const unit = at(['A-1', 'A-2', 'B-9', 'C-1', 'C-2'], a) ?? 'A-1'
  serial += 1
  if (b % 2 === 0) await client.fleet.copyUnit({ unit, numbers: [`N-${serial}`], by })
  else await client.fleet.retire({ unit, retired: b % 4 === 1, reason: 'Sold', by })
}

const rules = [
  'maximumAgeDays',
  'tandemLimitLb',
  'verdictConfidencePercent',
  'levelingPsi',
  'batteryRiskPercent',
  'gatherWindowDays',
  'sideImbalancePsi',
  'ticketRepeatabilityLb',
] as const

async function changeRule({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  const name = at(rules, a)
  const rule = (await client.houseRules.list()).find((each) => each.name === name)
  if (!rule || name === undefined) return
  const value = Math.min(rule.max, Math.max(rule.min, rule.value * (b % 2 === 0 ? 0.8 : 1.25)))
  await client.houseRules.change({ name, was: rule.value, value, by })
}

const zones = ['UTC', 'America/Denver', 'Pacific/Auckland', 'Asia/Kathmandu'] as const

async function changeZone({ client }: LawApp, [a = 0]: readonly number[]) {
  const { zone: was } = await client.houseRules.zone()
  await client.houseRules.changeZone({ was, zone: at(zones, a) ?? was, by })
}

async function setAside({ client }: LawApp, [a = 0, b = 0]: readonly number[]) {
  const { findings } = await client.unit.sheet({ unit: at(['A-1', 'A-2', 'B-9', 'C-1', 'C-2'], a) ?? 'A-1' })
  const finding = at(
    findings.filter(({ severity }) => severity !== 'stop'),
    b,
  )
  if (finding) await client.finding.dismiss({ id: finding.id, reason: 'Known', by })
}

/** A load as files of a fleet folder tell it, header and rows apart. */
interface Load {
  readonly number: string
  readonly when: string
  readonly units: readonly string[]
  readonly share: number
  readonly n: number
}

const ticketHead = 'scale,ticket,weighed_at,unit,group,weight_lb,gross_lb\n'
const ticketRows = ({ number, when, units, share, n }: Load): string =>
  weights(units, share, n)
    .map(({ unit, group, weightLb }) => `North Platform,${number},${when},${unit},${group},${weightLb},\n`)
    .join('')

const readingHead = 'reading,taken_at,unit,group,circuit,psi,scale,ticket,elevation_ft,temperature_f,lift\n'
const readingRows = ({ number, when, units, share, n }: Load, on: string): string =>
  pressures(units, share, n)
    .map(({ unit, group, circuit, psi }) => `V${number},${when},${unit},${group},${circuit},${psi},${on},,,\n`)
    .join('')

const loadFiles = (...loads: readonly Load[]) => ({
  'tickets.csv': ticketHead + loads.map(ticketRows).join(''),
  'readings.csv': readingHead + loads.map((load) => readingRows(load, `North Platform,${load.number}`)).join(''),
})

async function bringFolder({ client, folder }: LawApp, name: string, files: Readonly<Record<string, string>>) {
  const path = join(folder, `in-${name}`)
  writeFiles(path, files)
  const stream = await client.folder.bringIn({ folder: path })
  for await (const _ of stream);
}

async function bringIn(app: LawApp, [a = 0, b = 0]: readonly number[]) {
  serial += 1
  const units = [...(at(combos, a) ?? ['A-1'])]
  const number = `F${serial}`
  await bringFolder(app, number, loadFiles({ number, when: past(b), units, share: 0.5, n: b }))
}

/** An import of what a clock that goes wrong has dated ahead: by some hours or days, or by years. */
async function bringInAhead(app: LawApp, [a = 0, b = 0, c = 0]: readonly number[]) {
  serial += 1
  const units = [...(at(combos, a) ?? ['A-1'])]
  const [unit = 'A-1'] = units
  const number = `F${serial}`
  const hours = b % 9 === 8 ? 3 * 365 * 24 : 5 + ((b * 7919) % (12 * 24))
  const when = minute(timeNow() + hours * 3_600_000)
  const load = { number, when, units, share: (b % 10) / 10, n: b }
  const points = [
    { ...load, number: `${number}a`, share: 0.3, n: 0 },
    { ...load, number: `${number}b`, share: 0.9, n: 1 },
  ]
  const line = (group: string) =>
    points.map((point) => `${unit},${group},${when},${by},North Platform,${point.number},V${point.number}\n`).join('')
  const files: readonly Record<string, string>[] = [
    loadFiles(load),
    { 'readings.csv': readingHead + readingRows(load, ',') },
    { 'events.csv': `unit,happened_at,event\n${unit},${when},${b % 2 === 0 ? 'valve replaced' : 'body work'}\n` },
    {
      ...loadFiles(...points),
      'calibrations.csv': `unit,group,calibrated_at,by,scale,ticket,reading\n${line(sensed[unit]?.[0]?.[0] ?? '')}`,
    },
  ]
  await bringFolder(app, number, at(files, c) ?? {})
}

/** The day turns, or several do; now and then the clock is set back. Somebody looks at the fleet then, or nobody. */
async function dayTurns({ context }: LawApp, [a = 0, b = 0]: readonly number[]) {
  turnClock(a % 9 === 8 ? -2 : 1 + (a % 8))
  if (b % 2 === 0) await context.fleet.use((store) => upToDate(store, timeNow()))
}

const note = async ({ client }: LawApp, [a = 0]: readonly number[]) => {
  const { rows } = await client.evidence.readings({})
  const found = at(rows, a)
  if (!found) return
  const sheet = await client.evidence.sheet({ kind: 'reading', id: found.id })
  await client.heavy.note({
    record: { reading: found.reading },
    was: (sheet.values['note'] ?? null) as string | null,
    note: 'Snow on the deck',
    by,
  })
}

/** Everything that changes the record, each as a window would ask for it. */
export const doings = {
  weighIn,
  reading,
  correct,
  voidLine,
  undo,
  swapCells,
  planVisit,
  editUnit,
  editPlaces,
  editSensor,
  recordWork,
  mountSensor,
  mountMany,
  addUnit,
  copyOrRetire,
  changeRule,
  changeZone,
  setAside,
  bringIn,
  bringInAhead,
  dayTurns,
  note,
} as const

/** How often each is done, against the others. */
const weightOf: Readonly<Record<keyof typeof doings, number>> = {
  weighIn: 6,
  reading: 4,
  correct: 6,
  voidLine: 2,
  undo: 5,
  swapCells: 2,
  planVisit: 1,
  editUnit: 3,
  editPlaces: 2,
  editSensor: 2,
  recordWork: 2,
  mountSensor: 2,
  mountMany: 1,
  addUnit: 1,
  copyOrRetire: 1,
  changeRule: 1,
  changeZone: 1,
  setAside: 2,
  bringIn: 1,
  bringInAhead: 4,
  dayTurns: 4,
  note: 1,
}

export const steps: fc.Arbitrary<LawStep[]> = fc.array(
  fc.oneof(
    ...(Object.keys(doings) as (keyof typeof doings)[]).map((what) => ({
      weight: weightOf[what],
      arbitrary: fc.record({ what: fc.constant(what), pick: fc.array(fc.nat(9999), { minLength: 4, maxLength: 4 }) }),
    })),
  ),
  { minLength: 3, maxLength: 7 },
)

/** Does a step; what the program refuses in a sentence is no fault, anything else is. Returns whether it was done. */
export async function doStep(app: LawApp, { what, pick }: LawStep): Promise<boolean> {
  try {
    await doings[what](app, pick)
    return true
  } catch (error) {
    if (error instanceof ORPCError && ['REFUSED', 'CONFLICT', 'BAD_REQUEST'].includes(error.code)) return false
    throw error
  }
}
