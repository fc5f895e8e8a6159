import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { figuresToText } from '#core/cells/fleet-figures.ts'
import type { LineNoise } from '#core/evidence/state/series.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import type { FindingCode } from '#core/findings/finding.ts'
import { findingKey } from '#core/findings/set-aside.ts'
import { areJudgementsOf, isCurrent, markWholeFleet, readBooks, readFigures } from '#core/store/books.ts'
import { catchUp, catchUpTouched, learnAnew } from '#core/store/catch-up.ts'
import { dismissFinding } from '#core/store/dismissals.ts'
import { type Store, openStore } from '#core/store/open.ts'
import { judgeWholeFleet } from '#core/store/assessment.ts'
import { weighWholeFleet } from '#core/store/weighings.ts'
import { readAsOf } from '#core/words/day.ts'
import { saidOf } from '#core/words/sentences/findings.ts'
import { everyFault, simulateFleet } from '#tests/bed/simulate-fleet.ts'
import { some } from '#tests/some.ts'
import { noteChange } from '#tests/store/note-change.ts'
import { openNewStore } from '#tests/store/temporary-store.ts'

const home = mkdtempSync(join(tmpdir(), 'tareline-meanwhile-'))
let store: Store
let other: Store
let asOf: number

beforeAll(async () => {
  const fleet = { folder: join(home, 'fleet'), seed: 'meanwhile', units: 30, months: 14, readingsPerDay: 0.02 }
  const truth = simulateFleet({ ...fleet, faults: everyFault(1) })
  asOf = readAsOf(truth.lastDay, 'UTC') as number
  store = await openNewStore(join(home, 'fleet.tareline'))
  await importFolder(store, fleet.folder)
  await catchUp(store, asOf)
  other = await openStore(store.file, { mustExist: true })
})
afterAll(async () => {
  await other.close()
  await store.close()
  rmSync(home, { recursive: true, force: true })
})

/** The store, with something done by somebody else right after a table has been read the first time. */
function interrupted(table: string, meanwhile: () => Promise<void>): Store {
  const asks = new WeakSet<object>()
  let isDone = false
  const db = store.db.withPlugin({
    transformQuery: ({ node, queryId }) => {
      if (JSON.stringify(node).includes(`"${table}"`)) asks.add(queryId)
      return node
    },
    transformResult: async ({ queryId, result }) => {
      if (!isDone && asks.has(queryId)) {
        isDone = true
        await meanwhile()
      }
      return result
    },
  })
  return { ...store, db }
}

const findings = async () => {
  const rows = await store.db.selectFrom('finding').selectAll().execute()
  return rows.map(({ id: _, ...row }) => JSON.stringify(row)).toSorted()
}

/** Somebody sets aside, in another connection, a finding of a unit that stands. */
const setAside = (place: number) => async () => {
  const warnings = await other.db
    .selectFrom('finding')
    .selectAll()
    .where('severity', '=', 'warn')
    .where('group_id', 'is not', null)
    .orderBy('id')
    .execute()
  const found = some(warnings)[place % warnings.length] as (typeof warnings)[number]
  await other.db.transaction().execute((db) =>
    dismissFinding(db, found.unit_id, saidOf(found), {
      findingKey: findingKey({
        code: found.code as FindingCode,
        unitId: found.unit_id,
        groupId: found.group_id,
        circuitId: found.circuit_id,
        scaleId: found.scale_id,
        ticketId: found.ticket_id,
      }),
      evidence: found.evidence,
      reason: 'known',
      by: 'M. Tarn',
      at: '2025-12-01T00:00:00.000Z',
    }),
  )
}

const allUnits = async () => (await store.db.selectFrom('unit').select('id').execute()).map(({ id }) => id)

it.each([
  ['some units', async () => await noteChange(store, await allUnits())],
  [
    'the whole fleet',
    async () => {
      const { revision: since } = await store.db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()
      await store.db.insertInto('behind_fleet').values({ what: 'judge', since }).execute()
    },
  ],
])(
  'what is set aside while judging goes on for %s is not judged as before and called current',
  async (what, leaveBehind) => {
    await leaveBehind()
    await catchUp(interrupted('dismissal', setAside(what.length)), asOf)
    expect(areJudgementsOf(await readBooks(store.db), asOf)).toBe(true)
    const called = await findings()
    await noteChange(store, await allUnits())
    await catchUp(store, asOf)
    expect(called).toEqual(await findings())
  },
)

it('a unit judged by a job of the day before is not called current on the day that the fleet has been judged for since', async () => {
  const dayBefore = asOf - 86_400_000
  await catchUp(store, asOf)
  await noteChange(store, [1])
  await catchUpTouched(store, dayBefore)
  expect(await isCurrent(store.db, asOf)).toBe(false)
  await catchUp(store, asOf)
  expect(await isCurrent(store.db, asOf)).toBe(true)
})

/** As if the fleet had taught other figures on the day before, by which all was judged and weighed. */
async function judgeByOtherFigures(): Promise<void> {
  await catchUp(store, asOf)
  const { figures } = (await readFigures(store.db)) as NonNullable<Awaited<ReturnType<typeof readFigures>>>
  const loud = (noise: LineNoise) => ({ ...noise, levelingPsi: 2 * noise.levelingPsi })
  const { fleet, kinds } = figures.estimates.noise
  const noise = { fleet: loud(fleet), kinds: new Map(Array.from(kinds, ([kind, own]) => [kind, loud(own)] as const)) }
  const others = { ...figures, estimates: { ...figures.estimates, noise } }
  await store.db
    .updateTable('fleet_figures')
    .set({ figures: figuresToText(others) })
    .execute()
  markWholeFleet(store, 'judge')
  markWholeFleet(store, 'weigh')
  await catchUp(store, asOf)
  expect((await readFigures(store.db))?.figures.estimates).toEqual(others.estimates)
}

/** Weights and standings as they are stored. */
async function stored(): Promise<string[]> {
  const heavy = await store.db.selectFrom('heavy').selectAll().execute()
  const standings = await store.db.selectFrom('group_standing').selectAll().execute()
  return [...heavy.map(({ id: _, ...row }) => row), ...standings].map((row) => JSON.stringify(row)).toSorted()
}

it.each([
  [
    'some units are weighed',
    async (learn: () => Promise<void>) => {
      await noteChange(store, await allUnits())
      await catchUpTouched(interrupted('fleet_figures', learn), asOf)
    },
  ],
  [
    'the whole fleet is weighed',
    async (learn: () => Promise<void>) => await weighWholeFleet(interrupted('fleet_figures', learn), asOf),
  ],
  [
    'the whole fleet is judged',
    async (learn: () => Promise<void>) => {
      const { figures } = (await readFigures(store.db)) as NonNullable<Awaited<ReturnType<typeof readFigures>>>
      await judgeWholeFleet(interrupted('dismissal', learn), figures, asOf)
    },
  ],
])('what the fleet teaches while %s counts in whatever is called current', async (_, work) => {
  await judgeByOtherFigures()
  await work(async () => {
    await learnAnew(other, asOf)
    await catchUp(other, asOf)
  })
  await catchUp(store, asOf)
  expect(await isCurrent(store.db, asOf)).toBe(true)
  const called = await stored()
  markWholeFleet(store, 'judge')
  markWholeFleet(store, 'weigh')
  await catchUp(store, asOf)
  expect(called).toEqual(await stored())
})
