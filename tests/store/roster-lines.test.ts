import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { findingCodes, trustStates } from '#core/findings/finding.ts'
import { nextDue } from '#core/findings/next-due.ts'
import { standingRanks } from '#core/findings/trust.ts'
import { openUnchecked } from '#core/store/open.ts'
import type { Store } from '#core/store/open.ts'
import {
  type RosterAsked,
  type RosterSort,
  countRoster,
  readRosterChoices,
  readRosterPage,
  readWholeRoster,
} from '#core/store/roster-lines.ts'
import { type RosterUnit, listRoster } from '#core/store/roster.ts'
import { naturalKey } from '#core/words/names.ts'
import { numberOf } from '#core/store/rows.ts'
import { seeded } from '#tests/seeded.ts'
import { unitKinds } from '#core/words/vocabulary.ts'
import { planAsForLargeFleet, planWithoutCounts } from '#tests/store/large-fleet-counts.ts'
import { plansOf, statementsOf } from '#tests/store/query-plan.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const units = 60

/** A fleet in which whatever the Roster shows is now there, now alike, now unknown. */
function fill({ raw }: Store, seed = 15): void {
  const random = seeded(seed)
  const pick = <T>(of: readonly T[]): T => of[Math.floor(random() * of.length)] as T
  const day = () => `2026-${pick(['01', '05', '11'])}-${pick(['03', '17'])}`
  raw.exec("insert into yard (id, name) values (1, 'Alder Flat'), (2, 'Bracken'), (3, 'Nobody home')")
  for (let id = 1; id <= units; id += 1) {
    raw
      .prepare(
        'insert into unit (id, number, kind, make, model, model_year, yard_id, service_state) values (?, ?, ?, ?, ?, ?, ?, ?)',
      )
      .run(
        id,
        `${pick(['T-', 't', 'V '])}${id}`,
        pick(['tractor', 'trailer', 'truck']),
        pick([null, 'Brennock', 'Quillmarch']),
        pick([null, 'R8']),
        pick([null, 2019]),
        pick([null, 1, 2]),
        pick(['in service', 'in service', 'retired']),
      )
    for (let g = 0; g < pick([0, 1, 2]); g += 1) {
      const group = 2 * id + g
      raw
        .prepare("insert into axle_group (id, unit_id, name, role, axles) values (?, ?, ?, 'drive', 2)")
        .run(group, id, `G${g}`)
      raw.prepare("insert into circuit (id, group_id, name) values (?, ?, 'main')").run(group, group)
      raw.prepare("insert into sensor (id, serial, reference) values (?, ?, 'gauge')").run(group, `S${group}`)
      raw
        .prepare('insert into mount (sensor_id, circuit_id, mounted_at) values (?, ?, ?)')
        .run(group, group, '2025-01-01T00:00:00.000Z')
      if (random() < 0.7)
        raw
          .prepare('insert into battery_change (sensor_id, changed_at) values (?, ?)')
          .run(group, `${day()}T00:00:00.000Z`)
      raw
        .prepare(
          'insert into group_standing (group_id, unit_id, trust, calibrated_at, due_on, u_limit_lb) values (?, ?, ?, ?, ?, ?)',
        )
        .run(
          group,
          id,
          pick(trustStates),
          pick([null, `${day()}T08:00:00.000Z`]),
          pick([null, day()]),
          pick([null, 120, 300]),
        )
    }
    if (random() < 0.5)
      raw
        .prepare(
          "insert into finding (unit_id, code, severity, numbers, variant, facts) values (?, ?, ?, '{}', 'top', '{}')",
        )
        .run(id, pick(findingCodes), pick(['stop', 'warn', 'note']))
  }
}

const asked = (more: Partial<RosterAsked> = {}): RosterAsked => ({
  retired: true,
  sort: 'unit',
  descending: false,
  offset: 0,
  limit: 200,
  ...more,
})

const numbersOf = (rows: readonly RosterUnit[]) => rows.map(({ unit }) => unit)

const atOnce = new Set(['uncalibrated', 'upset', 'doubtful'])
/** What each sort goes by, written anew: undefined goes last whichever way. */
const keys: Readonly<Record<Exclude<RosterSort, 'match' | 'trust'>, (row: RosterUnit) => string | number | undefined>> =
  {
    unit: ({ unit }) => naturalKey(unit),
    finding: ({ worstFinding }) => worstFinding ?? undefined,
    age: ({ calibratedAt }) => (calibratedAt === null ? undefined : -Date.parse(calibratedAt)),
    due: ({ trust, dueOn }) => (trust === null ? undefined : atOnce.has(trust) ? '' : (dueOn ?? undefined)),
    uncertainty: ({ uLimitLb }) => uLimitLb ?? undefined,
    cell: ({ cellSince }) => (cellSince === null ? undefined : -Date.parse(cellSince)),
    yard: ({ yard }) => yard ?? undefined,
    model: ({ make, model }) => [make, model].filter(Boolean).join(' ') || undefined,
  }

const byNumber = (a: RosterUnit, b: RosterUnit) => (naturalKey(a.unit) < naturalKey(b.unit) ? -1 : 1)

describe('the Roster by page', () => {
  it.each(Object.entries(keys))('sorted by %s: every page in one order, what is unknown last either way', (sort, key) =>
    withStore(async (store) => {
      fill(store)
      for (const descending of [false, true]) {
        const side = descending ? -1 : 1
        const expected = listRoster(store)
          .sort(byNumber)
          .sort((p, q) => {
            const [a, b] = [key(p), key(q)]
            if (a === b) return 0
            if (a === undefined || b === undefined) return a === undefined ? 1 : -1
            return a < b ? -side : side
          })
        const pages: RosterUnit[] = []
        for (let offset = 0; offset < units; offset += 7)
          pages.push(
            ...(await readRosterPage(store, asked({ sort: sort as RosterSort, descending, offset, limit: 7 }))).rows,
          )
        expect(pages).toEqual(expected)
      }
    }),
  )

  it('sorted by trust: the worst first, alike ones by what makes them so, what is due longest and least sure', () =>
    withStore(async (store) => {
      fill(store)
      const { rows } = await readRosterPage(store, asked({ sort: 'trust' }))
      const ranks = rows.map(({ trust, worstFinding, dueOn, uLimitLb, unit }) => [
        trust === null ? 9 : trustStates.indexOf(trust),
        worstFinding === null ? 99 : findingCodes.indexOf(worstFinding),
        dueOn ?? '9999',
        -(uLimitLb ?? 0),
        naturalKey(unit),
      ])
      for (const [i, rank] of ranks.slice(1).entries()) {
        const before = ranks[i] as typeof rank
        const at = rank.findIndex((part, k) => part !== before[k])
        expect((before[at] as string | number) < (rank[at] as string | number)).toBe(true)
      }
      const { rows: milder } = await readRosterPage(store, asked({ sort: 'trust', descending: true }))
      const states = milder.map(({ trust }) => trust)
      expect(states.indexOf(null)).toBe(states.filter((trust) => trust !== null).length)
      expect(states[0]).toBe(rows.filter(({ trust }) => trust !== null).at(-1)?.trust)
    }))

  it('narrows by every filter, counts each state beside the others, and tells the place of a unit', () =>
    withStore(async (store) => {
      fill(store)
      const all = listRoster(store).sort(byNumber)
      const code = all.find(({ worstFinding }) => worstFinding !== null)?.worstFinding as (typeof findingCodes)[number]
      const filters: [Partial<RosterAsked>, (row: RosterUnit) => boolean][] = [
        [{ retired: false }, ({ retired }) => !retired],
        [{ trust: ['overdue', 'sound'] }, ({ trust }) => trust === 'overdue' || trust === 'sound'],
        [{ kind: 'trailer' }, ({ kind }) => kind === 'trailer'],
        [{ yard: 'Bracken' }, ({ yard }) => yard === 'Bracken'],
        [{ finding: code }, ({ findingCodes: codes }) => codes.includes(code)],
        [{ text: 'bracken  QUILL' }, ({ yard, make }) => yard === 'Bracken' && make === 'Quillmarch'],
        [{ text: '2019' }, ({ unit, modelYear }) => modelYear === 2019 || unit.includes('2019')],
        [{ text: '%' }, () => false],
      ]
      for (const [filter, holds] of filters) {
        const page = await readRosterPage(store, asked(filter))
        expect(numbersOf(page.rows)).toEqual(numbersOf(all.filter(holds)))
        expect(page).toMatchObject({ total: page.rows.length, all: units })
      }
      const narrow = { kind: 'tractor', retired: false } as const
      const own = all.filter(({ kind, retired }) => kind === 'tractor' && !retired)
      const { counts, rows, place } = await readRosterPage(
        store,
        asked({ ...narrow, trust: ['sound'], sort: 'yard', at: own.find(({ trust }) => trust === 'sound')?.unit }),
      )
      for (const trust of trustStates) expect(counts.trust[trust]).toBe(own.filter((row) => row.trust === trust).length)
      expect(counts.notSensed).toBe(own.filter(({ trust }) => trust === null).length)
      expect(rows[place ?? -1]?.unit).toBe(own.find(({ trust }) => trust === 'sound')?.unit)
      expect((await readRosterPage(store, asked({ ...narrow, at: 'nobody' }))).place).toBeNull()
      expect(numbersOf(await readWholeRoster(store, asked(narrow), 500))).toEqual(numbersOf(own))
      expect(numbersOf(await readWholeRoster(store, { ...asked(narrow), sensed: true }, 5))).toEqual(
        numbersOf(own.filter(({ trust }) => trust !== null)).slice(0, 5),
      )
      const choices = await readRosterChoices(store)
      expect(choices).toMatchObject({ yards: ['Alder Flat', 'Bracken'], retired: true })
      expect(choices.findings.toSorted()).toEqual([...new Set(all.flatMap((row) => row.findingCodes))].sort())
    }))

  it('puts the unit of the very number first, then those that begin with it, then those that hold it', () =>
    withStore(async (store) => {
      store.raw.exec(`insert into unit (number, kind, make) values
        ('A-7', 'tractor', null), ('7', 'tractor', null), ('70', 'tractor', null), ('B-1', 'tractor', 'Make 7'), ('8', 'tractor', null)`)
      const { rows } = await readRosterPage(store, asked({ sort: 'match', text: '7' }))
      expect(numbersOf(rows)).toEqual(['7', '70', 'A-7', 'B-1'])
    }))

  it('does so in capitals or not, also of letters that are not English', () =>
    withStore(async (store) => {
      store.raw.exec(`insert into unit (number, kind, make) values
        ('A-1', 'tractor', 'Écho'), ('B ÉCHO', 'tractor', null), ('Écho', 'tractor', null), ('Écho 2', 'tractor', null)`)
      for (const text of ['écho', 'ÉCHO', ' Écho '])
        expect(numbersOf((await readRosterPage(store, asked({ sort: 'match', text }))).rows)).toEqual([
          'Écho',
          'Écho 2',
          'B ÉCHO',
          'A-1',
        ])
    }))

  it('takes every text for what it is, whatever it means to SQL', () =>
    withStore(async (store) => {
      const odd = [
        '%',
        '_',
        "it's",
        '"quoted"',
        'back\\slash',
        'a*b',
        '[x]',
        '?1',
        ':name',
        '--',
        '/*',
        'ß',
        '日本',
        '🚚',
      ]
      const insert = store.raw.prepare("insert into unit (number, kind) values (?, 'tractor')")
      for (const number of ['plain', ...odd]) insert.run(number)
      for (const sort of ['unit', 'match'] as const) {
        for (const text of odd)
          expect([text, numbersOf((await readRosterPage(store, asked({ text, sort }))).rows)]).toEqual([text, [text]])
        for (const text of ['\u0000', 'plain\u0000', '\ud800', "' or 1=1 --", 'w '.repeat(100), 'y'.repeat(200)])
          expect([text, (await readRosterPage(store, asked({ text, sort }))).total]).toEqual([text, 0])
      }
    }))
})

/** The words of a row that are looked in, small. */
const wordsOf = ({ unit, kind, make, model, modelYear, yard }: RosterUnit) =>
  [unit, kind, make, model, modelYear, yard]
    .filter((fact) => fact !== null)
    .join(' ')
    .toLowerCase()

type Ranks = readonly (readonly [value: string | number | null, descending: boolean])[]

/** What a row goes by in an order, one thing after another: written anew, from the row alone. */
function ranksOf(row: RosterUnit, { sort, descending, text = '' }: RosterAsked): Ranks {
  const { unsensed, trust, finding, due, sureness } = standingRanks(row)
  const typed = text.trim().toLowerCase()
  const at = wordsOf(row).indexOf(typed)
  const isExact = naturalKey(row.unit) === naturalKey(typed)
  const due_ = row.trust === null ? null : nextDue(row.trust, row.dueOn)
  const orders: Record<RosterSort, () => Ranks> = {
    unit: () => [],
    trust: () => [
      [unsensed, false],
      [trust, descending],
      [finding, false],
      [due, false],
      [sureness, false],
    ],
    finding: () => [[row.worstFinding, descending]],
    age: () => [[row.calibratedAt, !descending]],
    due: () => [[due_ === 'now' ? '' : due_, descending]],
    uncertainty: () => [[row.uLimitLb, descending]],
    cell: () => [[row.cellSince, !descending]],
    yard: () => [[row.yard, descending]],
    model: () => [[[row.make, row.model].filter(Boolean).join(' ') || null, descending]],
    match: () => [[at === 0 ? (isExact ? 0 : 1) : at > 0 && at < row.unit.length ? 2 : 3, false]],
  }
  return [...orders[sort](), [naturalKey(row.unit), sort === 'unit' && descending], [row.unitId, false]]
}

function compareRanks(p: Ranks, q: Ranks): number {
  for (const [i, [a, descending]] of p.entries()) {
    const b = q[i]?.[0] ?? null
    if (a === b) continue
    if (a === null || b === null) return a === null ? 1 : -1
    return a < b === descending ? 1 : -1
  }
  return 0
}

/** A page as one would make it of all rows. */
function plainPage(all: readonly RosterUnit[], question: RosterAsked) {
  const { text = '', trust, kind, yard, finding, retired, offset, limit, at } = question
  const words = text.toLowerCase().split(/\s+/).filter(Boolean)
  const beside = all.filter(
    (row) =>
      (retired || !row.retired) &&
      (kind === undefined || row.kind === kind) &&
      (yard === undefined || row.yard === yard) &&
      (finding === undefined || row.findingCodes.includes(finding)) &&
      words.every((word) => wordsOf(row).includes(word)),
  )
  const rows = beside
    .filter((row) => !trust?.length || (row.trust !== null && trust.includes(row.trust)))
    .sort((p, q) => compareRanks(ranksOf(p, question), ranksOf(q, question)))
  const place = rows.findIndex(({ unit }) => unit === at)
  return {
    rows: rows.slice(offset, offset + limit),
    total: rows.length,
    all: all.length,
    counts: {
      trust: Object.fromEntries(
        trustStates.map((state) => [state, beside.filter((row) => row.trust === state).length]),
      ),
      notSensed: beside.filter((row) => row.trust === null).length,
    },
    place: place < 0 ? null : place,
  }
}

const sorts = ['unit', 'trust', 'finding', 'age', 'due', 'uncertainty', 'cell', 'yard', 'model', 'match'] as const
const orNot = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: undefined, freq: 2 })

/** Anything that the Roster may be asked for. */
const anyAsked: fc.Arbitrary<RosterAsked> = fc.record({
  text: orNot(
    fc.constantFrom('t', 'T-1', 'brennock', 'r8 quill', '1', ' v 2', 'Bracken 2019', '9', 'nowhere', 'tractor 5'),
  ),
  trust: orNot(fc.subarray([...trustStates])),
  kind: orNot(fc.constantFrom(...unitKinds)),
  yard: orNot(fc.constantFrom('Alder Flat', 'Bracken', 'Nobody home', 'Elsewhere')),
  finding: orNot(fc.constantFrom(...findingCodes)),
  retired: fc.boolean(),
  sort: fc.constantFrom(...sorts),
  descending: fc.boolean(),
  offset: fc.constantFrom(0, 0, 3, 17, 100),
  limit: fc.constantFrom(1, 7, 200),
  at: orNot(fc.constantFrom('T-1', 't2', 'V 3', 'T-9', 't9', 'T-900', 't-900', 'nobody')),
})

/** So many more units that a letter is found in too many to look each up. */
const addCrowd = ({ raw }: Store) =>
  raw.exec(`with recursive n(i) as (select 1 union all select i + 1 from n where i < 2200)
    insert into unit (number, kind, make, yard_id) select 'X-' || (5000 + i), iif(i % 3, 'tractor', 'trailer'),
      iif(i % 5, 'Brennock', null), 1 + i % 2 from n`)

describe('any question to the Roster', () => {
  it.each([
    ['few', 12, () => {}],
    ['many', 3, addCrowd],
  ])('has the answer that all rows narrowed and sorted plainly give, of %s units', (_, numRuns, add) =>
    fc.assert(
      fc.asyncProperty(fc.nat(), fc.array(anyAsked, { minLength: 40, maxLength: 40 }), (seed, questions) =>
        withStore(async (store) => {
          fill(store, seed)
          // Alike but for a capital.
          store.raw.exec("insert into unit (number, kind) values ('t-900', 'tractor'), ('T-900', 'tractor')")
          add(store)
          const all = listRoster(store)
          for (const question of questions) {
            expect(await readRosterPage(store, question)).toEqual(plainPage(all, question))
            const whole = { ...question, offset: 0, limit: 500 }
            expect(await readWholeRoster(store, whole, 500)).toEqual(plainPage(all, whole).rows)
          }
        }),
      ),
      { numRuns },
    ),
  )

  it.each([
    ['before the file was ever looked over', planWithoutCounts],
    ['with the counts of a large fleet', planAsForLargeFleet],
  ])('is a walk along an index that holds all it asks of, %s', (_, plan) =>
    withStore(async (store) => {
      fill(store)
      addCrowd(store)
      await readRosterPage(store, asked())
      plan(store)
      const code = findingCodes[0]
      const filters: Partial<RosterAsked>[] = [
        {},
        { retired: false },
        { text: 'quill bracken' },
        { text: 't' },
        { text: 't', trust: ['sound', 'overdue'], finding: code },
        { kind: 'trailer', yard: 'Bracken', retired: false },
        { trust: ['sound'] },
        { finding: code },
      ]
      const { unit: at } = (await readRosterPage(store, asked())).rows[0] as RosterUnit
      for (const filter of filters)
        for (const sort of sorts)
          for (const descending of [false, true]) {
            const question = asked({ ...filter, sort, descending, at, limit: 5 })
            const statements = await statementsOf(store, () => readRosterPage(store, question))
            const plans = statements.map((sql) => plansOf(store, sql))
            expect(plans.length).toBeGreaterThan(3)
            // Few that were found are looked up by their ids, and sorted.
            const walks = plans.filter((steps) => !steps.some((step) => step.includes('json_each')))
            expect({ question, odd: walks.flat().filter((step) => !isPlain(step, sort)) }).toEqual({
              question,
              odd: [],
            })
          }
    }),
  )
})

/** All that the questions of a page may come to. */
const plainSteps = [
  /^SCAN (?:l|roster_line) USING COVERING INDEX roster_line_/,
  // The rows of the page itself, and the unit whose place is asked for.
  /^SEARCH roster_line USING INTEGER PRIMARY KEY/,
  /^SEARCH l USING (?:COVERING )?INDEX roster_line_by_number \(number_key=\?\)/,
  /^SEARCH finding USING COVERING INDEX finding_by_code/,
  /^SCAN main.roster_behind$/,
  /^LIST SUBQUERY|^CREATE BLOOM FILTER$/,
  // What the index leaves alike is sorted.
  /^USE TEMP B-TREE FOR (?:LAST|GROUP BY)/,
]
const isPlain = (step: string, sort: RosterSort) =>
  plainSteps.some((known) => known.test(step)) ||
  // How well a text is met stands in no index.
  (sort === 'match' && step === 'USE TEMP B-TREE FOR ORDER BY')

describe('the lines of the Roster', () => {
  /** Anything that a program may do to the file, each in one statement. */
  const changes = [
    "update unit set make = 'Oxbow', number = 'X-1' where id = 3",
    "update unit set service_state = 'retired' where id = 5",
    'update unit set yard_id = 3 where id = 7',
    "update yard set name = 'Alder Steep' where id = 1",
    "update group_standing set trust = 'upset', due_on = null, u_limit_lb = 999 where unit_id = (select max(unit_id) from group_standing)",
    'delete from group_standing where unit_id = (select min(unit_id) from group_standing)',
    "insert into finding (unit_id, code, severity, numbers, variant, facts) values (9, 'no-calibration', 'stop', '{}', 'top', '{}')",
    'update finding set unit_id = 11 where unit_id = 9',
    'delete from finding where unit_id = 11',
    "insert into battery_change (sensor_id, changed_at) select max(sensor_id), '2020-02-02T00:00:00.000Z' from mount",
    "update battery_change set changed_at = '2019-02-02T00:00:00.000Z' where changed_at like '2020%'",
    "delete from battery_change where changed_at like '2019%'",
    "update mount set removed_at = '2026-02-02T00:00:00.000Z' where sensor_id = (select min(sensor_id) from battery_change)",
    'delete from mount where sensor_id = (select max(sensor_id) from battery_change)',
    "insert into unit (number, kind) values ('New', 'truck')",
    "delete from unit where number = 'New'",
  ]

  it('are those of the record after any change of it, whoever makes it', () =>
    withStore(async (store) => {
      fill(store)
      for (const sql of changes) {
        expect([sql, store.raw.prepare(sql).run().changes > 0]).toEqual([sql, true])
        const { rows } = await readRosterPage(store, asked())
        expect({ sql, rows }).toEqual({ sql, rows: listRoster(store).sort(byNumber) })
        expect(numberOf(store.raw, 'select count(*) from roster_behind')).toBe(0)
      }
    }))

  it('are shown as they are now where the file cannot be written, by a look or beside a writer, and nothing waits', () =>
    withStore(async (store) => {
      fill(store)
      await readRosterPage(store, asked())
      store.raw.exec("update unit set make = 'Oxbow' where id = 3")
      const look = openUnchecked(store.file)
      if (!look) throw new Error('the file is not there')
      try {
        const makeOf = async (of: Store) =>
          (await readRosterPage(of, asked())).rows.find(({ unitId }) => unitId === 3)?.make
        expect(await makeOf(look)).toBe('Oxbow')
        store.raw.exec("begin immediate; update unit set make = 'Tried out' where id = 3")
        const beside = openUnchecked(store.file)
        expect(beside && (await makeOf(beside))).toBe('Oxbow')
        await beside?.close({ untouched: true })
        store.raw.exec('rollback')
        expect(await makeOf(store)).toBe('Oxbow')
        expect(numberOf(store.raw, 'select count(*) from roster_behind')).toBe(0)
        // What stood beside is given up once the file's own lines are new.
        store.raw.exec("update unit set make = 'Fernmoor' where id = 3")
        expect(await makeOf(store)).toBe('Fernmoor')
        expect(await makeOf(look)).toBe('Fernmoor')
      } finally {
        await look.close({ untouched: true })
      }
    }))

  it('are counted by state, those in service alone', () =>
    withStore(async (store) => {
      fill(store)
      const { counts } = await readRosterPage(store, asked({ retired: false }))
      expect(await countRoster(store)).toEqual(counts)
    }))
})
