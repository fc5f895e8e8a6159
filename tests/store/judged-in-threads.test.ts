import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { importFolder } from '#core/exchange/import-folder.ts'
import { learnEstimates } from '#core/findings/assess-fleet.ts'
import { judgeInThreads } from '#core/jobs/judge-in-threads.ts'
import { type GroupOutcome, type Judge, type JudgeOrder, judgeOrdered } from '#core/store/assessment.ts'
import { readColumns } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { columnSource } from '#core/store/record-columns.ts'
import { readAsOf } from '#core/words/day.ts'
import { everyFault, simulateFleet } from '#tests/bed/simulate-fleet.ts'
import { openNewStore } from '#tests/store/temporary-store.ts'

const home = mkdtempSync(join(tmpdir(), 'tareline-threads-'))
const file = join(home, 'fleet.tareline')
let order: JudgeOrder

beforeAll(async () => {
  const fleet = { folder: join(home, 'fleet'), seed: 'threads', units: 30, months: 14, readingsPerDay: 0.02 }
  const asOf = readAsOf(simulateFleet({ ...fleet, faults: everyFault(1) }).lastDay, 'UTC') as number
  const store = await openNewStore(file)
  try {
    await importFolder(store, fleet.folder)
    const rules = await readHouseRules(store.db)
    const record = readColumns(store, { untilMs: asOf })
    const estimates = learnEstimates(columnSource(record), rules)
    order = { record, rules, asOf, figures: { estimates, heardUntil: asOf }, dismissed: new Set() }
  } finally {
    await store.close()
  }
})
afterAll(() => rmSync(home, { recursive: true, force: true }))

async function all(judge: Judge): Promise<GroupOutcome[]> {
  const outcomes: GroupOutcome[] = []
  for await (const outcome of judge(order)) outcomes.push(outcome)
  return outcomes
}

it('threads judge as one does, in the same order and to the last digit, however many they are', async () => {
  const alone = await all(judgeOrdered)
  expect(alone.map(({ standing }) => standing.group_id)).toEqual(order.record.groups.map(({ groupId }) => groupId))
  expect(alone.flatMap(({ findings }) => findings).length).toBeGreaterThan(10)
  for (const threads of [1, 2, 3]) expect(await all(judgeInThreads(file, threads, 0, 5))).toEqual(alone)
})

it('what goes wrong in a thread ends the work', async () => {
  const judge = judgeInThreads(file, 2, 0, 5)
  const nowhere = { ...order, rules: { ...order.rules, zone: 'Nowhere/At_all' } }
  await expect(all(() => judge(nowhere))).rejects.toThrow(/time zone/)
})

it('whoever stops reading ends the work, and its threads do the next', async () => {
  const judge = judgeInThreads(file, 2, 0, 5)
  for await (const { unitId } of judge(order)) {
    expect(unitId).toBe(order.record.groups[0]?.unitId)
    break
  }
  expect((await all(judge)).length).toBe(order.record.groups.length)
})
