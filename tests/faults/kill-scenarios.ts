import type Database from 'better-sqlite3'
import { existsSync, readdirSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { setTimeout } from 'node:timers/promises'
import { copiedAttachmentsFolder } from '#core/store/attachments.ts'
import { checkFile } from '#core/store/check-file.ts'
import { timeNow } from '#core/store/clock.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { openToLook } from '#core/store/look.ts'
import { latestStep } from '#core/store/open.ts'
import type { Client } from '#tests/api/windows.ts'
import { writeOldFile } from '#tests/faults/old-file.ts'
import { typedReading, typedTicket, weighNow } from '#tests/fleet/typed.ts'
import { addSensor, addUnit, drive, folderRows, folderText, onDrive } from '#tests/fleet/folder.ts'
import { writeFiles } from '#tests/exchange/small-fleet.ts'

/** One fleet file that lives through all kills, and what was acknowledged to its person. */
export interface World {
  readonly home: string
  readonly file: string
  /** Counts trials, for names that were never used before. */
  trial: number
  readonly readings: Set<string>
  readonly imports: Map<string, number>
  readonly swaps: Set<string>
  readonly unitCopies: Set<string>
  /** Marks of visits to the scale, and ids of voided calibrations. */
  readonly visits: Set<string>
  readonly voids: Set<number>
  /** Reasons of corrected tickets. */
  readonly corrections: Set<string>
  /** SHA-256 of attached scans. */
  readonly scans: Set<string>
  /** Marks of foreign CSV files. */
  readonly foreign: Set<string>
  readonly copies: Set<string>
  ruleDays: number
}

/** Something a person does that may be cut off at any moment. */
export interface Scenario {
  readonly name: string
  /** How long it goes on, at first; the moments of the kills follow what it really takes, ms. */
  readonly lastsMs: number
  /** Whether the kill may come while the app starts; `begun` then tells from when on. */
  readonly duringStart?: boolean
  readonly begun?: (world: World) => Promise<void>
  readonly prepare?: (world: World) => Promise<void> | void
  /** Does it until it is done or cut off; acknowledged work is noted in the world at once. */
  readonly act: (world: World, client: Client) => Promise<void>
  /** What is wrong afterwards, beyond what every kill is checked for. */
  readonly complaints: (world: World) => string[] | Promise<string[]>
}

export function look<T>(file: string, ask: (raw: Database.Database) => T): T {
  const raw = openToLook(file)
  try {
    return ask(raw)
  } finally {
    raw.close()
  }
}

/** A copy, with the attachments that the copies share. */
const checkCopy = (file: string, name: string) =>
  checkFile(join(copiesFolder(file), name), [copiedAttachmentsFolder(file)])

const countOf = (file: string, sql: string, ...values: unknown[]): number =>
  look(
    file,
    (raw) =>
      raw
        .prepare(sql)
        .pluck()
        .get(...values) as number,
  )

const unitsEach = 40
const readingsEach = 25
const at = (minutes: number) => new Date(Date.UTC(2026, 0, 5) + minutes * 60_000).toISOString()

/** The fleet that is there from the start: one truck with two circuits, weighed now and then. */
export function writeFirstFolder(folder: string): void {
  const rows = folderRows()
  addUnit(rows, { unit: 'T-1', kind: 'truck' }, [
    drive,
    { ...drive, group: 'second', axles: 1, first_axle_ft: 26, limit_lb: 20_000 },
  ])
  rows.scales.push({ scale: 'Millrace Yard', division_lb: 20 })
  writeFiles(folder, folderText(rows))
}

/** A fleet folder of units that no other folder names: 1,000 readings, so that an import has a middle. */
function writeImportFolder(folder: string, mark: string): void {
  const rows = folderRows()
  for (let row = 0; row < unitsEach; row += 1) {
    const unit = `${mark}-${row}`
    addUnit(rows, { unit, kind: 'tractor' }, [drive])
    addSensor(rows, { unit, ...onDrive }, { serial: `S-${unit}` }, at(0))
    for (let index = 0; index < readingsEach; index += 1)
      rows.readings.push({
        reading: `R-${unit}-${index}`,
        taken_at: at(60 + row * readingsEach + index),
        unit,
        ...onDrive,
        psi: 20 + index,
      })
  }
  writeFiles(folder, folderText(rows))
}

type ImportEnd =
  | { readonly outcome: 'stored' }
  | { readonly outcome: 'refused'; readonly problems: readonly { readonly message: string }[] }

/** Follows an import to its end. Errors: what it was refused for. */
async function follow(steps: AsyncIterator<unknown, ImportEnd>): Promise<void> {
  for (;;) {
    const step = await steps.next()
    if (!step.done) continue
    if (step.value.outcome === 'refused') throw new Error(step.value.problems[0]?.message)
    return
  }
}

export const bringIn = async (client: Client, folder: string): Promise<void> =>
  follow(await client.folder.bringIn({ folder }))

const markOf = ({ trial }: World) => `K${trial}`

const importing: Scenario = {
  name: 'import',
  lastsMs: 500,
  prepare: (world) => writeImportFolder(join(world.home, markOf(world)), markOf(world)),
  act: async (world, client) => {
    await bringIn(client, join(world.home, markOf(world)))
    world.imports.set(markOf(world), unitsEach)
  },
  complaints: (world) => {
    const units = countOf(world.file, "select count(*) from unit where number glob ? || '-*'", markOf(world))
    const readings = countOf(
      world.file,
      "select count(*) from reading where name glob 'R-' || ? || '-*'",
      markOf(world),
    )
    const whole = units === unitsEach && readings === unitsEach * readingsEach
    return whole || (units === 0 && readings === 0) ? [] : [`half an import: ${units} units, ${readings} readings`]
  },
}

const foreignRows = 400
const foreignPath = (world: World) => join(world.home, `${markOf(world)}.csv`)

/** A sensor app's file of 400 pressures. */
const importingForeign: Scenario = {
  name: 'import a foreign CSV',
  lastsMs: 400,
  prepare: (world) =>
    writeFileSync(
      foreignPath(world),
      [
        'Record id;Time;Unit;Axle group;Circuit;kPa',
        ...Array.from(
          { length: foreignRows },
          (_, row) =>
            `${markOf(world)}-${row};${at(-500_000 + world.trial * foreignRows + row)};T-1;drive;main;${200 + (row % 200)},5`,
        ),
      ].join('\n'),
    ),
  act: async (world, client) => {
    const source = { path: foreignPath(world) }
    const { mapping } = await client.foreign.preview({ source, mapping: null, zone: 'UTC' })
    await follow(await client.foreign.bringIn({ source, mapping, goodRows: false }))
    world.foreign.add(markOf(world))
  },
  complaints: (world) => {
    const readings = countOf(world.file, "select count(*) from reading where name glob ? || '-*'", markOf(world))
    return readings === 0 || readings === foreignRows ? [] : [`half a foreign file: ${readings} of ${foreignRows} rows`]
  },
}

/** Two circuits in one reading, so that half of one could be seen. */
const saving: Scenario = {
  name: 'save a reading',
  lastsMs: 700,
  act: async (world, client) => {
    for (let index = 0; ; index += 1) {
      const psi = 20 + (index % 60)
      const taken = weighNow(new Date(timeNow() - 60_000).toISOString(), {
        'T-1 drive main': psi,
        'T-1 second main': psi,
      })
      const { reading } = await client.weigh.save({ ...taken, note: `${world.trial}` })
      world.readings.add(reading)
    }
  },
  complaints: ({ file }) => {
    const halves = countOf(
      file,
      "select count(*) from reading r where source = 'weigh now' and (select count(*) from reading_pressure p where p.reading_id = r.id) != 2",
    )
    const unlogged = countOf(
      file,
      "select count(*) from reading where source = 'weigh now' and name not in (select subject_key from change_log where subject = 'reading')",
    )
    return [
      ...(halves > 0 ? [`${halves} half readings`] : []),
      ...(unlogged > 0 ? [`${unlogged} readings without their line in the change log`] : []),
    ]
  },
}

const swapsEach = 4
const batchesOf = (mark: string): string[][] =>
  Array.from({ length: unitsEach / swapsEach }, (_, batch) =>
    Array.from({ length: swapsEach }, (_each, index) => `S-${mark}-${batch * swapsEach + index}`),
  )

const swapping: Scenario = {
  name: 'mark batteries swapped',
  lastsMs: 700,
  act: async (world, client) => {
    for (const serials of [...world.imports.keys()].flatMap(batchesOf)) {
      if (world.swaps.has(serials[0] as string)) continue
      await client.bench
        .markSwapped({
          cells: serials.map((serial) => ({ serial, reason: 'scheduled' as const })),
          on: '2026-02-02',
          cell: null,
          by: 'M. Tarn',
        })
        .catch((error: unknown) => {
          // It was recorded by an earlier trial that was killed before it could say so.
          if (!(error instanceof Error && /would come before that/.test(error.message))) throw error
        })
      for (const serial of serials) world.swaps.add(serial)
    }
  },
  complaints: ({ file, imports }) => {
    const changed = look(
      file,
      (raw) =>
        new Set(
          raw
            .prepare('select s.serial from battery_change b join sensor s on s.id = b.sensor_id')
            .pluck()
            .all() as string[],
        ),
    )
    return [...imports.keys()].flatMap((mark) =>
      batchesOf(mark).flatMap((serials) => {
        const done = serials.filter((serial) => changed.has(serial)).length
        return done === 0 || done === serials.length
          ? []
          : [`half a batch of swaps: ${done} of ${serials.length} from ${serials[0]}`]
      }),
    )
  },
}

const unitsCopied = 10
const copyingUnits: Scenario = {
  name: 'copy units by hand',
  lastsMs: 600,
  act: async (world, client) => {
    for (let batch = 0; ; batch += 1) {
      const mark = `C${world.trial}b${batch}`
      await client.fleet.copyUnit({
        unit: 'T-1',
        numbers: Array.from({ length: unitsCopied }, (_, index) => `${mark}-${index}`),
        by: 'M. Tarn',
      })
      world.unitCopies.add(mark)
    }
  },
  complaints: ({ file, trial }) =>
    look(file, (raw) =>
      (
        raw
          .prepare(
            "select count(*) as units, (select count(*) from axle_group g where g.unit_id in (select id from unit where substr(number, 1, instr(number, '-')) = substr(u.number, 1, instr(u.number, '-')))) as groups from unit u where number glob 'C' || ? || 'b*' group by substr(number, 1, instr(number, '-'))",
          )
          .all(trial) as { units: number; groups: number }[]
      ).flatMap(({ units, groups }) =>
        units === unitsCopied && groups === 2 * unitsCopied
          ? []
          : [`half a copy of units: ${units} of ${unitsCopied}, ${groups} groups`],
      ),
    ),
}

const loadsPsi = [20, 45, 70]

/** Three loads on the scale with a calibration of the drive axles, at a minute of its own. */
async function weighIn(world: World, client: Client, visit: number): Promise<void> {
  const mark = `V${world.trial}.${visit}`
  const minute = (index: number) =>
    new Date(timeNow() - 300 * 86_400_000 + (world.trial * 1000 + visit * 10 + index) * 60_000).toISOString()
  await client.weighIn.save({
    units: ['T-1'],
    scale: 'Millrace Yard',
    localZone: null,
    calibrate: [{ unit: 'T-1', group: 'drive' }],
    by: 'M. Tarn',
    tickets: loadsPsi.map((psi, index) =>
      typedTicket(
        { ticket: `${mark}-${index}`, weighedAt: minute(index) },
        { 'T-1 drive': 2000 + 400 * psi },
        typedReading({ 'T-1 drive main': psi }),
      ),
    ),
  })
  world.visits.add(mark)
}

/**
 * A visit is there whole: its tickets, each with its weight and its reading, and one calibration through all of them.
 */
const visitComplaints = ({ file }: World): string[] =>
  look(file, (raw) => {
    const halves = raw
      .prepare(`select substr(t.number, 1, instr(t.number, '-') - 1) as mark, count(distinct t.id) as tickets, count(distinct w.id) as weights,
    count(distinct r.id) as readings, count(distinct p.ticket_id) as points, count(distinct p.calibration_id) as calibrations
    from ticket t left join ticket_weight w on w.ticket_id = t.id left join reading r on r.ticket_id = t.id left join calibration_point p on p.ticket_id = t.id
    where t.number glob 'V*' group by mark having tickets != 3 or weights != 3 or readings != 3 or points != 3 or calibrations != 1`)
      .all()
    const voids = raw
      .prepare(`select count(*) from calibration c where (voided_at is null) != (void_reason is null) or (voided_at is not null
    and not exists (select 1 from change_log l where l.subject = 'calibration' and l.action = 'voided'))`)
      .pluck()
      .get() as number
    return [
      ...halves.map((half) => `half a visit: ${JSON.stringify(half)}`),
      ...(voids > 0 ? [`${voids} half voids`] : []),
    ]
  })

const weighingIn: Scenario = {
  name: 'weigh in',
  lastsMs: 700,
  act: async (world, client) => {
    for (let visit = 0; ; visit += 1) await weighIn(world, client, visit)
  },
  complaints: visitComplaints,
}

const voiding: Scenario = {
  name: 'void a calibration',
  lastsMs: 900,
  act: async (world, client) => {
    for (let visit = 0; ; visit += 1) {
      await weighIn(world, client, visit)
      const { groups } = await client.unit.sheet({ unit: 'T-1' })
      const id = groups.find(({ name }) => name === 'drive')?.calibrations.find(({ current }) => current)?.id as number
      await client.weighIn.voidCalibration({ id, reason: 'The brakes were set', by: 'M. Tarn' })
      world.voids.add(id)
    }
  },
  complaints: visitComplaints,
}

/** Weight and gross of one ticket are corrected together and to the same, so that half of it could be seen. */
const correcting: Scenario = {
  name: 'correct a ticket',
  lastsMs: 800,
  act: async (world, client) => {
    await weighIn(world, client, 0)
    const id = (await client.evidence.tickets({ text: `V${world.trial}.0-2` })).rows[0]?.id as number
    for (let index = 0; ; index += 1) {
      const { 'T-1 drive_lb': weight = null, gross_lb: gross = null } = (
        await client.evidence.sheet({ kind: 'ticket', id })
      ).values
      const [lb, reason] = [29_000 + 20 * (index % 50), `C${world.trial}.${index}`]
      await client.evidence.correct({
        kind: 'ticket',
        id,
        was: { 'T-1 drive_lb': weight, gross_lb: gross },
        now: { 'T-1 drive_lb': lb, gross_lb: lb },
        reason,
        by: 'M. Tarn',
        tryOut: false,
      })
      world.corrections.add(reason)
    }
  },
  complaints: (world) => {
    const halves = look(world.file, (raw) =>
      raw
        .prepare(`select t.number, t.gross_lb, w.weight_lb, json_extract(l.new_value, '$.gross_lb') as told from ticket t join ticket_weight w on w.ticket_id = t.id
      left join change_log l on l.id = (select max(id) from change_log where subject = 'ticket' and action = 'corrected' and subject_key = t.number || ' of Millrace Yard')
      where t.number glob 'V*' and (t.gross_lb is not null or l.id is not null) and (w.weight_lb is not t.gross_lb or told is not t.gross_lb)`)
        .all(),
    )
    return [...visitComplaints(world), ...halves.map((half) => `half a correction: ${JSON.stringify(half)}`)]
  },
}

const scanBytes = 400_000

/** Scans of 400 kB, so that a kill may come while one is written. */
const attaching: Scenario = {
  name: 'attach a scan',
  lastsMs: 700,
  act: async (world, client) => {
    await weighIn(world, client, 0)
    const ticketId = (await client.evidence.tickets({ text: `V${world.trial}.0-2` })).rows[0]?.id as number
    for (let index = 0; ; index += 1) {
      const name = `scan ${world.trial}.${index}.pdf`
      const { sha256 } = await client.attachment.add({
        ticketId,
        file: new File([`%PDF-1.4\n%${name}\n`.padEnd(scanBytes, '%'), '\n%%EOF\n'], name),
        by: 'M. Tarn',
      })
      world.scans.add(sha256)
    }
  },
  complaints: (world) => {
    const unlogged = countOf(
      world.file,
      "select count(*) from ticket_attachment where sha256 not in (select json_extract(new_value, '$.sha256') from change_log where action = 'attached')",
    )
    return [
      ...visitComplaints(world),
      ...(unlogged > 0 ? [`${unlogged} scans without their line in the change log`] : []),
    ]
  },
}

const changingRules: Scenario = {
  name: 'change a House Rule',
  lastsMs: 500,
  act: async (world, client) => {
    for (;;) {
      const next = 100 + ((world.ruleDays - 99) % 200)
      await client.houseRules.change({ name: 'maximumAgeDays', was: world.ruleDays, value: next, by: 'M. Tarn' })
      world.ruleDays = next
    }
  },
  complaints: (world) => {
    const stored = countOf(
      world.file,
      "select coalesce((select value from house_rule where name = 'maximumAgeDays'), 365)",
    )
    const next = 100 + ((world.ruleDays - 99) % 200)
    if (stored !== world.ruleDays && stored !== next)
      return [`the rule is ${stored}; ${world.ruleDays} was acknowledged`]
    world.ruleDays = stored
    return []
  },
}

const copying: Scenario = {
  name: 'keep a copy',
  lastsMs: 600,
  act: async (world, client) => {
    for (;;) {
      const { name } = await client.copies.keep()
      world.copies.add(name)
    }
  },
  complaints: async ({ file }) => {
    const there = listCopyNames(file).map(({ name }) => name)
    const verdicts = await Promise.all(there.map((name) => checkCopy(file, name)))
    return verdicts.flatMap(({ sound, message }) => (sound ? [] : [message]))
  },
}

const restoring: Scenario = {
  name: 'restore a copy',
  lastsMs: 700,
  prepare: (world) => {
    rmSync(copiesFolder(world.file), { recursive: true, force: true })
    world.copies.clear()
  },
  act: async (world, client) => {
    const { name } = await client.copies.keep()
    world.copies.add(name)
    for (;;) await client.copies.restore({ name })
  },
  complaints: async (world) => {
    const { file, home } = world
    if (!existsSync(file)) {
      // Between two names: what lay there is the newest copy, and the app offers it. Here it is put back by hand.
      const [newest] = listCopyNames(file)
      if (newest?.reason !== 'before-restore') return ['the file is missing and no copy of it was kept']
      if (!(await checkCopy(file, newest.name)).sound) return ['the file is missing and its copy is damaged']
      renameSync(join(copiesFolder(file), newest.name), file)
    }
    const asides = readdirSync(home).filter((name) => name.includes('set aside'))
    return asides.length > 0 ? [`a sound file was set aside: ${asides.join(', ')}`] : []
  },
}

const present = ({ file }: World) => `${file}.present`

const startingOld: Scenario = {
  name: 'start on a file of an old version',
  lastsMs: 900,
  duringStart: true,
  prepare: async (world) => {
    rmSync(copiesFolder(world.file), { recursive: true, force: true })
    world.copies.clear()
    renameSync(world.file, present(world))
    for (const end of ['-wal', '-shm'])
      if (existsSync(world.file + end)) renameSync(world.file + end, present(world) + end)
    await writeOldFile(present(world), world.file)
  },
  act: async (_, client) => {
    await client.file.state()
  },
  complaints: async (world) => {
    const { file } = world
    const step = look(file, (raw) => raw.pragma('user_version', { simple: true }) as number)
    const rows = (of: string) =>
      look(of, (raw) =>
        ['unit', 'reading', 'reading_pressure', 'battery_change', 'change_log', 'house_rule']
          .map((table) => raw.prepare(`select count(*) from ${table}`).pluck().get())
          .join(' '),
      )
    const [is, was] = [rows(file), rows(present(world))]
    const copy = listCopyNames(file).find(({ reason }) => reason === 'before-update')
    for (const end of ['', '-wal', '-shm']) rmSync(present(world) + end, { force: true })
    return [
      ...(step === 1 || step === latestStep ? [] : [`the file is at step ${step}, which no version leaves`]),
      ...(is === was ? [] : [`rows were ${was} and are ${is}`]),
      ...(step === latestStep && !copy ? ['the file was updated without a copy'] : []),
      ...(copy && !(await checkCopy(file, copy.name)).sound ? ['the copy before the update is damaged'] : []),
    ]
  },
}

/** The same, killed from the first sign of the update on, which is over in a few milliseconds. */
const updating: Scenario = {
  ...startingOld,
  name: 'update an old file',
  lastsMs: 60,
  begun: async ({ file }) => {
    while (!existsSync(copiesFolder(file))) await setTimeout(1)
  },
}

/** Every kind of moment at which the main process is killed. */
export const scenarios: readonly Scenario[] = [
  importing,
  saving,
  weighingIn,
  copying,
  voiding,
  restoring,
  updating,
  swapping,
  startingOld,
  changingRules,
  copyingUnits,
  correcting,
  importingForeign,
  attaching,
]

/** What must hold after any kill: the file whole, nothing acknowledged gone, no copy half made under a copy's name. */
export async function complaintsAfterKill(world: World): Promise<string[]> {
  const { file } = world
  if (!existsSync(file)) return ['the fleet file is missing']
  const { sound, message } = await checkFile(file)
  const held = look(file, (raw) => {
    const readings = new Set(
      raw.prepare("select name from reading where source = 'weigh now'").pluck().all() as string[],
    )
    const units = raw.prepare("select count(*) from unit where number glob ? || '-*'").pluck()
    const tickets = raw.prepare("select count(*) from ticket where number glob ? || '-*'").pluck()
    const voided = raw.prepare('select count(*) from calibration where id = ? and voided_at is not null').pluck()
    const swapped = new Set(
      raw
        .prepare('select s.serial from battery_change b join sensor s on s.id = b.sensor_id')
        .pluck()
        .all() as string[],
    )
    const scans = new Set(raw.prepare('select sha256 from ticket_attachment').pluck().all() as string[])
    const foreign = raw.prepare("select count(*) from reading where name glob ? || '-*'").pluck()
    const corrected = new Set(
      raw.prepare("select reason from change_log where action = 'corrected'").pluck().all() as string[],
    )
    return [
      ...[...world.readings].filter((name) => !readings.has(name)).map((name) => `saved reading ${name} is gone`),
      ...[...world.imports]
        .filter(([mark, count]) => units.get(mark) !== count)
        .map(([mark]) => `import ${mark} is gone`),
      ...[...world.unitCopies]
        .filter((mark) => units.get(mark) !== unitsCopied)
        .map((mark) => `copied units ${mark} are gone`),
      ...[...world.visits].filter((mark) => tickets.get(mark) !== 3).map((mark) => `visit ${mark} is gone`),
      ...[...world.voids].filter((id) => voided.get(id) !== 1).map((id) => `the void of calibration ${id} is gone`),
      ...[...world.corrections]
        .filter((reason) => !corrected.has(reason))
        .map((reason) => `correction ${reason} is gone`),
      ...[...world.scans].filter((sha256) => !scans.has(sha256)).map((sha256) => `scan ${sha256} is gone`),
      ...[...world.foreign]
        .filter((mark) => foreign.get(mark) !== foreignRows)
        .map((mark) => `foreign file ${mark} is gone`),
      ...[...world.swaps].filter((serial) => !swapped.has(serial)).map((serial) => `swap of ${serial} is gone`),
    ]
  })
  const byHand = listCopyNames(file).flatMap(({ name, reason }) => (reason === 'by-hand' ? [name] : []))
  // A copy kept by hand goes only for ten newer ones, the last of which may have been kept without a word before the
  // kill. Names sort as they were made.
  const lost = [...world.copies].filter(
    (name) => !byHand.includes(name) && byHand.filter((other) => other > name).length < 10,
  )
  return [...(sound ? [] : [message]), ...held, ...lost.map((name) => `copy ${name} is gone`)]
}
