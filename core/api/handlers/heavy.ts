import { writeFile } from 'node:fs/promises'
import { basename, join } from 'node:path'
import { freshWeighings } from '#core/api/freshen.ts'
import { entryMaker } from '#core/api/heavy-entries.ts'
import { onFleet } from '#core/api/on-fleet.ts'
import { readMonday } from '#core/api/monday-view.ts'
import { procedures } from '#core/api/procedures.ts'
import type { HeavyEntry, HeavyFilterInput, HeavySpanInput, HeavySummary } from '#core/contracts/heavy.ts'
import { heavyPageDefinition } from '#core/exchange/documents/heavy-page.ts'
import { type SheetHead, mostPrintedRows, mostSpreadsheetRows } from '#core/exchange/documents/sheet.ts'
import { mondayPageDefinition } from '#core/exchange/documents/monday-page.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import { heavyCsv, heavySpreadsheet } from '#core/exchange/documents/heavy-export.ts'
import { timeNow } from '#core/store/clock.ts'
import { findYard } from '#core/store/fleet-lists.ts'
import { type HeavySpan, tallyByLimit, tallyByMonth, tallyByUnit, tallyByYard } from '#core/store/heavy-summary.ts'
import {
  type HeavyFilter,
  type HeavyPage,
  type HeavyRow,
  type HeavySort,
  countHeavy,
  eachHeavy,
  findNotedReading,
  findNotedTicket,
  listHeavy,
  writeNote,
} from '#core/store/heavy.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { unitByNumber } from '#core/store/unit-sheet.ts'
import { readZone } from '#core/store/zone.ts'
import { fleetRate, heavyVerdicts, limitKinds, worstOffenders } from '#core/weight/heavy.ts'
import { drawnRate } from '#core/weight/month-rates.ts'
import { verdicts as allVerdicts } from '#core/weight/verdict.ts'
import { dayOf, endOfDay, startOfDay } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { codeOf, TarelineError } from '#core/words/problem.ts'
import { sayOfRules } from '#core/words/say.ts'
import { phrase } from '#core/words/phrase.ts'

const sorts: Readonly<Record<string, HeavySort>> = {
  weighedAt: 'weighed_at',
  overLb: 'over_lb',
  pOver: 'p_over',
  weightLb: 'weight_lb',
}
const mostUnits = 500
const mostOffenders = 200

async function placesOf({ db }: Store, { unit, yard }: HeavySpanInput): Promise<{ unitId?: number; yardId?: number }> {
  const foundUnit = unit === undefined ? undefined : await unitByNumber(db, unit)
  const foundYard = yard === undefined ? undefined : await findYard(db, yard)
  if (yard !== undefined && !foundYard)
    throw new TarelineError('no-such-yard', phrase('There is no yard {yard} in this fleet.', { yard }))
  return { ...(foundUnit ? { unitId: foundUnit.id } : {}), ...(foundYard ? { yardId: foundYard.id } : {}) }
}

async function filterOf(store: Store, input: HeavyFilterInput): Promise<HeavyFilter> {
  const { kinds, sources, superseded = false, changed = false, from, to } = input
  const { verdicts = changed ? allVerdicts : heavyVerdicts } = input
  const zone = await readZone(store.db)
  return {
    ...(await placesOf(store, input)),
    kinds,
    verdicts,
    sources,
    superseded,
    changed,
    from: from === undefined ? undefined : toStoredInstant(startOfDay(from, zone)),
    to: to === undefined ? undefined : toStoredInstant(endOfDay(to, zone)),
  }
}

/** Over and close of one thing side by side. */
function byLimit(rows: Awaited<ReturnType<typeof tallyByLimit>>): HeavySummary['byLimit'] {
  return [...Map.groupBy(rows, ({ kind, role }) => `${kind} ${role}`).values()].map((own) => {
    const count = (verdict: string) => own.find((row) => row.verdict === verdict)?.weights ?? 0
    const { kind, role } = own[0] as (typeof own)[number]
    return {
      kind,
      role,
      over: count('over'),
      close: count('too close to call'),
      worstLb: Math.max(...own.map(({ worstLb }) => worstLb)),
    }
  })
}

type Units = readonly HeavySummary['byUnit'][number][]

const powersOf = (units: Units) =>
  units
    .filter(({ kind }) => kind !== 'trailer')
    .map((unit) => ({ id: unit, heavy: unit.over, weighings: unit.weighings }))

/**
 * fleet: the units of the whole fleet in the same days, and its counted rate, which is the one that every part shows.
 */
function offendersOf(units: Units, fleet: { readonly units: Units; readonly rate: number }): HeavySummary['offenders'] {
  const counts = powersOf(units)
  if (counts.length === 0) return null
  const all = powersOf(fleet.units)
  const ranked = worstOffenders(counts, all).slice(0, mostOffenders)
  return {
    fleetRate: fleet.rate,
    fleetWeight: fleetRate(all).weight,
    rows: ranked.map((drawn) => ({ ...drawn.id, counted: drawn.rate, ...drawnRate(drawn) })),
  }
}

type Tally = HeavySummary['total']

/** What some tallies come to together. */
function totalOf(tallies: readonly Tally[]): Tally {
  const sum = (of: keyof Tally) => tallies.reduce((total, tally) => total + tally[of], 0)
  return { weighings: sum('weighings'), over: sum('over'), close: sum('close') }
}

const rateOf = ({ over, weighings }: Tally): number => (weighings === 0 ? 0 : over / weighings)

async function summarize(store: Store, input: HeavySpanInput, now: number): Promise<Omit<HeavySummary, 'current'>> {
  const places = await placesOf(store, input)
  const zone = await readZone(store.db)
  const fleet: HeavySpan = {
    kinds: input.kinds ?? limitKinds,
    from: input.from,
    to: input.to,
    zone,
    today: dayOf(now, zone),
  }
  const span = { ...fleet, ...places }
  const isNarrowed = places.unitId !== undefined || places.yardId !== undefined
  const byMonth = await tallyByMonth(store.db, span)
  const units = await tallyByUnit(store.db, span)
  return {
    total: totalOf(byMonth),
    byMonth,
    byYard: await tallyByYard(store.db, span),
    byLimit: byLimit(await tallyByLimit(store.db, span)),
    byUnit: [...units].sort((a, b) => b.over - a.over || b.close - a.close).slice(0, mostUnits),
    units: units.length,
    offenders: offendersOf(units, {
      units: isNarrowed ? await tallyByUnit(store.db, fleet) : units,
      rate: rateOf(totalOf(isNarrowed ? await tallyByMonth(store.db, fleet) : byMonth)),
    }),
  }
}

/**
 * A page of a log of a known length. SQLite walks past every row before it, so the second half is asked for from
 * behind.
 */
async function listFromNearerEnd(
  { db }: Store,
  filter: HeavyFilter,
  page: HeavyPage,
  total: number,
): Promise<HeavyRow[]> {
  const { descending, offset, limit } = page
  if (offset <= total / 2) return listHeavy(db, filter, page)
  const behind = total - offset - limit
  const rows = await listHeavy(db, filter, {
    ...page,
    descending: !descending,
    offset: Math.max(0, behind),
    limit: Math.max(0, Math.min(limit, total - offset)),
  })
  return rows.reverse()
}

async function exportHeavy(
  store: Store,
  filter: HeavyFilter,
  format: 'csv' | 'spreadsheet' | 'pdf',
): Promise<{ rows: number; file: File }> {
  const rows = await countHeavy(store.db, filter)
  const name = `${filter.changed === true ? 'look-back' : 'heavy-log'}-${dayOf(timeNow(), await readZone(store.db))}`
  const most = { csv: Number.POSITIVE_INFINITY, spreadsheet: mostSpreadsheetRows, pdf: mostPrintedRows }[format]
  if (rows > most) {
    throw new TarelineError(
      'too-many-rows',
      phrase(
        '{format, select, pdf {{rows, number} rows are too many for a PDF, which takes {most, number}.} other {{rows, number} rows are too many for a spreadsheet, which takes {most, number}.}} Narrow the days, or take the CSV file.',
        { format, rows, most },
      ),
    )
  }
  async function* entries() {
    const make = await entryMaker(store)
    for await (const stretch of eachHeavy(store.db, filter)) yield await make(stretch)
  }
  if (format === 'csv') {
    const parts: string[] = []
    for await (const part of heavyCsv(entries())) parts.push(part)
    return { rows, file: new File(parts, `${name}.csv`, { type: 'text/csv' }) }
  }
  const all: HeavyEntry[] = []
  for await (const stretch of entries()) all.push(...stretch)
  const say = sayOfRules(await readHouseRules(store.db))
  const head: SheetHead = {
    title: filter.changed === true ? phrase('Look-back: loads whose verdict has changed') : phrase('Heavy Log'),
    asOf: dayOf(timeNow(), await readZone(store.db)),
    file: basename(store.file),
    notes: [],
  }
  if (format === 'pdf') {
    const bytes = await makePdf(heavyPageDefinition(all, head, say))
    return { rows, file: new File([bytes], `${name}.pdf`, { type: 'application/pdf' }) }
  }
  const bytes = await heavySpreadsheet(all, say, {
    ...head,
    title: filter.changed === true ? phrase('Look-back') : phrase('Heavy Log'),
  })
  return {
    rows,
    file: new File([bytes], `${name}.xlsx`, {
      type: 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
    }),
  }
}

/** Writes the file into a folder under its name; one of that name is not replaced. */
async function writeInto(folder: string, file: File): Promise<string> {
  const path = join(folder, file.name)
  try {
    await writeFile(path, new Uint8Array(await file.arrayBuffer()), { flag: 'wx' })
  } catch (error) {
    if (codeOf(error) === 'EEXIST')
      throw new TarelineError(
        'exists',
        phrase('{path} is there already and was left as it is. Move it away, or name another folder.', { path }),
        { cause: error },
      )
    throw new TarelineError(
      'cannot-write',
      phrase('{path} cannot be written. Name a folder that exists and may be changed.', { path }),
      { cause: error },
    )
  }
  return path
}

export const heavyHandlers = {
  list: procedures.heavy.list.handler(({ input, context }) =>
    context.fleet.use(async (store) => {
      const current = await freshWeighings(store, timeNow(), context.report)
      const filter = await filterOf(store, input)
      const { sort = 'weighedAt', descending = true, offset = 0, limit = 100 } = input
      const total = await countHeavy(store.db, filter)
      const rows = await listFromNearerEnd(
        store,
        filter,
        { sort: sorts[sort] as HeavySort, descending, offset, limit },
        total,
      )
      return { current, total, rows: await (await entryMaker(store))(rows) }
    }),
  ),
  summary: procedures.heavy.summary.handler(({ input, context }) =>
    context.fleet.use(async (store) => {
      const now = timeNow()
      const current = await freshWeighings(store, now, context.report)
      return { current, ...(await summarize(store, input, now)) }
    }),
  ),
  monday: procedures.heavy.monday.handler(
    onFleet(async (store, input, { now, report }) => {
      const current = await freshWeighings(store, now, report)
      return { current, ...(await readMonday(store, input?.month, now)) }
    }),
  ),
  mondayPdf: procedures.heavy.mondayPdf.handler(
    onFleet(async (store, input, { now, report }) => {
      const current = await freshWeighings(store, now, report)
      const page = { current, ...(await readMonday(store, input?.month, now)) }
      const head = { asOf: dayOf(now, await readZone(store.db)), file: basename(store.file) }
      const bytes = await makePdf(mondayPageDefinition(page, head, sayOfRules(await readHouseRules(store.db))))
      return new File([bytes], `heavy-${page.month}.pdf`, { type: 'application/pdf' })
    }),
  ),
  note: procedures.heavy.note.handler(({ input: { record, was, note, by }, context }) =>
    context.fleet.use((store) =>
      store.db.transaction().execute(async (db) => {
        const found =
          'reading' in record
            ? await findNotedReading(db, record.reading)
            : await findNotedTicket(db, record.scale, record.ticket)
        if (!found)
          throw new TarelineError(
            'no-such-record',
            'reading' in record
              ? phrase('There is no reading {reading}.', { reading: record.reading })
              : phrase('There is no ticket {ticket} of {scale}.', { ticket: record.ticket, scale: record.scale }),
          )
        const written = note === '' ? null : note
        await writeNote(db, found, { was, note: written }, { by, at: toStoredInstant(timeNow()) })
        return { note: written }
      }),
    ),
  ),
  export: procedures.heavy.export.handler(async ({ input: { format, folder, ...filter }, context }) => {
    const into = folder === undefined ? undefined : await context.places.real(folder, 'folder')
    return await context.fleet.use(async (store) => {
      await freshWeighings(store, timeNow(), context.report)
      const { rows, file } = await exportHeavy(store, await filterOf(store, filter), format)
      return into === undefined ? { rows, path: null, file } : { rows, path: await writeInto(into, file), file: null }
    })
  }),
}
