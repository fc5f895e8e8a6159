import fc from 'fast-check'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { importFolder } from '#core/exchange/import-folder.ts'
import { type JudgedGroup, assessFleet, learnEstimates } from '#core/findings/assess-fleet.ts'
import { judgeEach, judgeStore } from '#core/store/assessment.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { areJudgementsOf, readBooks, readFigures } from '#core/store/books.ts'
import { catchUp, catchUpTouched } from '#core/store/catch-up.ts'
import { openRecord, openTeachers, readRecord } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { readAsOf } from '#core/words/day.ts'
import { dayMs } from '#core/words/instant.ts'
import { everyFault, simulateFleet } from '#tests/bed/simulate-fleet.ts'
import { noteChange } from '#tests/store/note-change.ts'
import { fleets, insertFleet } from '#tests/store/random-fleet.ts'
import { openNewStore, withStore } from '#tests/store/temporary-store.ts'
import { addRow } from '#tests/fleet/rows.ts'

/**
 * What is stored about some units, or with their ids left out about the whole fleet, in a fixed order and without row
 * ids.
 */
async function outcome({ db }: Store, unitIds?: readonly number[]) {
  let standings = db.selectFrom('group_standing').selectAll().orderBy('group_id')
  let findings = db.selectFrom('finding').selectAll().orderBy('id')
  if (unitIds) {
    standings = standings.where('unit_id', 'in', unitIds)
    findings = findings.where('unit_id', 'in', unitIds)
  }
  const rows = (await findings.execute()).map(({ id: _, ...row }) => row)
  const text = (row: object) => JSON.stringify(row)
  return { standings: await standings.execute(), findings: rows.toSorted((a, b) => text(a).localeCompare(text(b))) }
}

/** How many statements the work prepares. */
async function countStatements({ raw }: Store, work: () => Promise<void>): Promise<number> {
  const prepare = raw.prepare.bind(raw)
  let count = 0
  raw.prepare = ((sql: string) => {
    count += 1
    return prepare(sql)
  }) as typeof raw.prepare
  try {
    await work()
    return count
  } finally {
    raw.prepare = prepare as typeof raw.prepare
  }
}

/** Units changed in some way that the log tells, and what follows from it. */
async function judgeAnew(of: Store, unitIds: readonly number[], now: number): Promise<void> {
  await noteChange(of, unitIds)
  await catchUpTouched(of, now)
}

const isCurrent = async ({ db }: Store, now: number) => areJudgementsOf(await readBooks(db), now)

const home = mkdtempSync(join(tmpdir(), 'tareline-reassess-'))
let store: Store
let asOf: number
let units: number[]

beforeAll(async () => {
  const truth = simulateFleet({
    folder: join(home, 'fleet'),
    seed: 'reassess',
    units: 60,
    months: 20,
    faults: everyFault(2),
    readingsPerDay: 0.02,
  })
  asOf = readAsOf(truth.lastDay, 'UTC') as number
  store = await openNewStore(join(home, 'fleet.tareline'))
  store.raw.pragma('synchronous = OFF')
  const { outcome: imported } = await importFolder(store, join(home, 'fleet'))
  if (imported === 'refused') throw new Error('the simulated fleet was refused')
  await catchUp(store, asOf)
  units = (await store.db.selectFrom('unit').select('id').orderBy('id').execute()).map(({ id }) => id)
})

afterAll(async () => {
  await store.close()
  rmSync(home, { recursive: true, force: true })
})

describe('judging touched units on a simulated fleet with faults of every kind', () => {
  it('has something to say: findings of many codes, and good and bad states of trust', async () => {
    const { standings, findings } = await outcome(store)
    expect(new Set(findings.map(({ code }) => code)).size).toBeGreaterThanOrEqual(10)
    expect(standings.map(({ trust }) => trust)).toEqual(
      expect.arrayContaining(['upset', 'doubtful', 'overdue', 'sound']),
    )
  })

  it('learns the same from the units that teach as from the whole record', async () => {
    const rules = await readHouseRules(store.db)
    const untilMs = judgedAt(asOf, 'UTC')
    expect(learnEstimates(openTeachers(store, untilMs, 0), rules)).toEqual(
      learnEstimates(openRecord(store, { untilMs }), rules),
    )
  })

  it.each([
    ['the day that the fleet has learnt on', 0],
    ['an earlier day', 90],
  ])('judges some units after the other as all at once, in the order of the fleet: on %s', async (_, daysBefore) => {
    const at = judgedAt(asOf - daysBefore * dayMs, 'UTC')
    const told = ({ history, trust, dueOn, uLimitLb, current, findings, lookedAt }: JudgedGroup) => ({
      group: `${history.unit} ${history.group}`,
      line: current && [current.line.a, current.line.b, current.line.uA, current.line.uB, current.line.covAB],
      ...{ trust, dueOn, uLimitLb, findings, lookedAt },
    })
    const whole = Array.from((await judgeStore(store, at)).groups, told)
    expect(new Set(whole.map(({ trust }) => trust)).size).toBeGreaterThan(1)
    expect(await judgeEach(store, at, told, 7)).toEqual(whole)
    expect(await judgeEach(store, at, told)).toEqual(whole)
  })

  it('stores for any units what the judgement of the fleet stored, and touches no other row', async () => {
    const whole = await outcome(store)
    await fc.assert(
      fc.asyncProperty(fc.subarray(units, { minLength: 1, maxLength: 6 }), async (some) => {
        await judgeAnew(store, some, asOf)
        expect(await outcome(store)).toEqual(whole)
      }),
      { numRuns: 15 },
    )
  })

  it('judges a changed unit as the fleet is judged, with the figures that the fleet had taught', async () => {
    const { db } = store
    const known = (await readFigures(db))?.figures.estimates
    const rules = await readHouseRules(db)
    const before = await outcome(store)
    const unit = before.standings.find(({ trust }) => trust === 'sound')?.unit_id as number
    addRow(store, 'event', { unit_id: unit, happened_at: '2026-11-20T12:00:00.000Z', kind: 'height set' })
    try {
      await judgeAnew(store, [unit], asOf)
      const { groups } = assessFleet(
        readRecord(store, { untilMs: judgedAt(asOf, 'UTC') }),
        rules,
        judgedAt(asOf, 'UTC'),
        { known },
      )
      const expected = groups.filter(({ history }) => history.unitId === unit)
      const { standings, findings } = await outcome(store, [unit])
      expect(standings.map(({ group_id, trust, u_limit_lb, due_on }) => [group_id, trust, u_limit_lb, due_on])).toEqual(
        expected.map(({ history, trust, uLimitLb, dueOn }) => [history.groupId, trust, uLimitLb, dueOn]),
      )
      expect(standings.map(({ trust }) => trust)).toEqual(['upset'])
      expect(
        findings
          .filter(({ group_id }) => group_id !== null)
          .map(({ code, variant, facts }) => `${code} ${variant} ${facts}`)
          .toSorted(),
      ).toEqual(
        expected
          .flatMap((group) =>
            group.findings.map(({ code, variant, facts }) => `${code} ${variant} ${JSON.stringify(facts)}`),
          )
          .toSorted(),
      )
      const rest = units.filter((each) => each !== unit)
      expect(await outcome(store, rest)).toEqual({
        standings: before.standings.filter(({ unit_id }) => unit_id !== unit),
        findings: before.findings.filter(({ unit_id }) => unit_id !== null && unit_id !== unit),
      })
    } finally {
      await db
        .deleteFrom('event')
        .where('unit_id', '=', unit)
        .where('happened_at', '=', '2026-11-20T12:00:00.000Z')
        .execute()
      await judgeAnew(store, [unit], asOf)
    }
    expect(await outcome(store)).toEqual(before)
  })

  it('asks as many questions for twenty units as for one: a few', async () => {
    await noteChange(store, units.slice(0, 1))
    const one = await countStatements(store, () => catchUpTouched(store, asOf).then(() => undefined))
    await noteChange(store, units.slice(0, 20))
    const twenty = await countStatements(store, () => catchUpTouched(store, asOf).then(() => undefined))
    expect(one).toBeLessThan(190)
    expect(Math.abs(twenty - one)).toBeLessThanOrEqual(2)
  })

  it('shows as current only once every unit that was touched is judged', async () => {
    await noteChange(store, units.slice(0, 3))
    expect(await isCurrent(store, asOf)).toBe(false)
    // Too many for the moment of a save: they wait for the shared job.
    const many = Array.from({ length: 101 }, (_, i) => units[i % units.length] as number)
    await noteChange(store, [...new Set([...many, ...Array.from({ length: 101 }, (_, i) => 10_000 + i)])])
    expect(await catchUpTouched(store, asOf)).toBe(false)
    expect(await isCurrent(store, asOf)).toBe(false)
    await catchUp(store, asOf)
    expect(await isCurrent(store, asOf)).toBe(true)
    // Another day asks for another judgement.
    expect(await isCurrent(store, asOf + 86_400_000)).toBe(false)
  })
})

describe('following up the whole fleet', () => {
  const behind = async () => [...(await readBooks(store.db)).fleet].sort()
  const wholeAnew = () =>
    store.db
      .insertInto('behind_fleet')
      .values([
        { what: 'judge', since: 1 },
        { what: 'weigh', since: 1 },
      ])
      .execute()

  it('tells how far it is, from the beginning to the end of each work', async () => {
    await wholeAnew()
    const told: [string, number | null][] = []
    await catchUp(store, asOf, (work, share) => told.push([work, share]))
    for (const work of ['judge', 'weigh']) {
      const shares = told.flatMap(([what, share]) => (what === work && share !== null ? [share] : []))
      expect(shares.length).toBeGreaterThan(1)
      expect(shares).toEqual(shares.toSorted((a, b) => a - b))
      expect(shares[0]).toBe(0)
    }
    expect(await behind()).toEqual([])
  })

  it('ends where it is called off, is not called current, and is made whole by the next', async () => {
    const whole = await outcome(store)
    await wholeAnew()
    const calledOff = new Error('called off')
    await expect(
      catchUp(store, asOf, (work, share) => {
        if (work === 'judge' && (share ?? 0) > 0) throw calledOff
      }),
    ).rejects.toBe(calledOff)
    expect(await isCurrent(store, asOf)).toBe(false)
    expect(await behind()).toEqual(['judge', 'weigh'])
    await catchUp(store, asOf)
    expect(await isCurrent(store, asOf)).toBe(true)
    expect(await outcome(store)).toEqual(whole)
  })

  it('a unit that is touched meanwhile is judged at once, and stays as it was judged last', async () => {
    const { db } = store
    const before = await outcome(store)
    // The first by number are judged first, before this one is touched; the last one is judged after.
    const sound = before.standings.filter(({ trust }) => trust === 'sound').map(({ unit_id }) => unit_id)
    const touched = [sound[0] as number, sound.at(-1) as number]
    const happened_at = '2026-11-19T12:00:00.000Z'
    await wholeAnew()
    const trusts: string[] = []
    let work: Promise<void> | undefined
    const touch = async () => {
      const { revision } = await readBooks(db)
      for (const unit_id of touched) addRow(store, 'event', { unit_id, happened_at, kind: 'height set' })
      await noteChange(store, touched)
      expect(await catchUpTouched(store, asOf, revision)).toBe(false)
      trusts.push(...(await outcome(store, touched)).standings.map(({ trust }) => trust))
    }
    try {
      await catchUp(store, asOf, (what, share) => {
        if (what === 'judge' && (share ?? 0) > 0) work ??= touch()
      })
      await work
      expect(trusts.length).toBeGreaterThanOrEqual(2)
      expect(new Set(trusts)).toEqual(new Set(['upset']))
      await catchUp(store, asOf)
      expect(await isCurrent(store, asOf)).toBe(true)
      const after = await outcome(store, touched)
      expect(new Set(after.standings.map(({ trust }) => trust))).toEqual(new Set(['upset']))
    } finally {
      await db.deleteFrom('event').where('happened_at', '=', happened_at).execute()
      await judgeAnew(store, touched, asOf)
    }
    expect(await outcome(store)).toEqual(before)
  })

  it('what a save touches is weighed at once too, by what the fleet taught last, though it is to be learnt anew', async () => {
    const { revision } = await readBooks(store.db)
    const learntAt = (await readFigures(store.db))?.learntAt
    await store.db.insertInto('behind_fleet').values({ what: 'learn', since: 1 }).execute()
    const unit = units[3] as number
    await store.db.deleteFrom('weighed_unit').where('unit_id', '=', unit).execute()
    await noteChange(store, [unit])
    expect(await catchUpTouched(store, asOf, revision)).toBe(false)
    const weighed = await store.db.selectFrom('weighed_unit').select('weighing').where('unit_id', '=', unit).execute()
    expect(weighed.length).toBeGreaterThan(0)
    expect((await readFigures(store.db))?.learntAt).toBe(learntAt)
    await catchUp(store, asOf)
    expect(await isCurrent(store, asOf)).toBe(true)
  })

  it('few units that a save touches are judged at once, however many others wait for the job', async () => {
    const many = Array.from({ length: 150 }, (_, i) => 20_000 + i)
    await noteChange(store, [...units.slice(5, 40), ...many])
    const { revision } = await readBooks(store.db)
    const own = units[1] as number
    await store.db.deleteFrom('group_standing').where('unit_id', '=', own).execute()
    await noteChange(store, [own])
    expect(await catchUpTouched(store, asOf, revision)).toBe(false)
    expect((await outcome(store, [own])).standings.length).toBeGreaterThan(0)
    await catchUp(store, asOf)
    expect(await isCurrent(store, asOf)).toBe(true)
  })
})

describe('catching up after a change', () => {
  const day = Date.UTC(2025, 11, 1)

  it('agrees with the judgement of the fleet on fleets of any shape', async () => {
    await fc.assert(
      fc.asyncProperty(fleets, (plan) =>
        withStore(async (small) => {
          const ids = await insertFleet(small, plan)
          await catchUp(small, day)
          const whole = await outcome(small)
          for (const id of ids) await judgeAnew(small, [id], day)
          expect(await outcome(small)).toEqual(whole)
          await judgeAnew(small, ids, day)
          expect(await outcome(small)).toEqual(whole)
        }),
      ),
      { numRuns: 10 },
    )
  })

  it('does nothing before the fleet was judged, nor for units that are not there', () =>
    withStore(async (small) => {
      expect(await catchUpTouched(small, asOf)).toBe(false)
      expect(await outcome(small)).toEqual({ standings: [], findings: [] })
      await catchUp(small, asOf)
      await judgeAnew(small, [999], asOf)
      expect(await outcome(small)).toEqual({ standings: [], findings: [] })
      expect(await isCurrent(small, asOf)).toBe(true)
    }))
})
