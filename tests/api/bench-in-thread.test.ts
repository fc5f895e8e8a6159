import { describe, expect, it } from 'vitest'
import { renameSync } from 'node:fs'
import type { CellHistory } from '#core/cells/lives.ts'
import { type BenchQuestions, type BenchSubject, answerBench } from '#core/jobs/ask-bench.ts'
import { askBench } from '#core/jobs/bench-in-thread.ts'
import { benchNow } from '#core/jobs/bench-now.ts'
import { inThread } from '#core/jobs/in-thread.ts'
import { timeNow } from '#core/store/clock.ts'
import { type Store, openStore } from '#core/store/open.ts'
import { noteRenewal } from '#core/store/renewals.ts'
import { at } from '#core/words/lists.ts'
import { insertSimulatedFleet } from '#tests/store/battery-store.ts'
import { statementsOf } from '#tests/store/query-plan.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const dayMs = 86_400_000

/** Cells of 400 days and more, of which some are due by now. */
const histories = (sensors: number): CellHistory[] =>
  Array.from({ length: sensors }, (_, i) => {
    const mountedAt = timeNow() - (900 + (i % 90)) * dayMs
    return {
      serial: `S${i}`,
      cell: i % 4 === 0 ? 'CR2477' : 'CR2450',
      reportEveryS: 300,
      mounts: [{ mountedAt, removedAt: null }],
      changes: [
        { changedAt: mountedAt, reason: 'new', cell: null },
        { changedAt: mountedAt + (400 + (i % 70)) * dayMs, reason: i % 3 ? 'dead' : 'low', cell: null },
      ],
    }
  })

const questions: { readonly [About in BenchSubject]: BenchQuestions[About] } = {
  plan: { days: 21 },
  unit: { unitId: 1 },
  lives: {},
  cost: {},
  order: {},
}
const subjects = Object.keys(questions) as BenchSubject[]

const both = async (store: Store, about: BenchSubject) => {
  const now = timeNow()
  const asked = questions[about]
  const fromThread = await inThread<unknown>({ kind: 'bench', dbFile: store.file, about, asked, now })
  return [fromThread, await answerBench(store, about, asked, now)] as const
}

describe('a question to the bench that a thread answers', () => {
  it.each(subjects)('about %s: is answered as it is beside the file', (about) =>
    withStore(async (store) => {
      insertSimulatedFleet(store, { histories: histories(60) })
      const [fromThread, beside] = await both(store, about)
      expect(fromThread).toEqual(beside)
      expect(JSON.stringify(beside).length).toBeGreaterThan(200)
    }),
  )

  it('is answered from the record as it is now, though the thread knows an earlier answer', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, { histories: histories(60) })
      const [before] = await both(store, 'plan')
      store.raw.exec("update house_setting set value = '2' where name = 'batteryRiskPercent'")
      store.raw.exec('update ledger set revision = revision + 1, cells_revision = revision + 1')
      const [after, beside] = await both(store, 'plan')
      expect(after).toEqual(beside)
      expect(after).not.toEqual(before)
    }))

  it('is answered from the judgments as they are now, though the record is as it was', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, { histories: histories(60) })
      const known = await benchNow(store, timeNow())
      expect(await benchNow(store, timeNow())).toBe(known)
      store.raw.transaction(() => noteRenewal(store, []))()
      expect(await benchNow(store, timeNow())).not.toBe(known)
    }))

  it('is answered from the file that is there now, though one of the same counts lay in its place', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, { histories: histories(60) })
      await withStore(async (other) => {
        insertSimulatedFleet(other, { histories: histories(90) })
        await both(store, 'lives')
        await other.close()
        await store.close()
        renameSync(other.file, store.file)
        const now = await openStore(store.file)
        const [fromThread, beside] = await both(now, 'lives')
        expect(fromThread).toEqual(beside)
        const { strata } = beside as { strata: { sensors: number }[] }
        expect(strata.reduce((sum, { sensors }) => sum + sensors, 0)).toBe(90)
        await now.close()
      })
    }))

  it('of a large fleet leaves the file of the procedures alone', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, { histories: histories(2100) })
      let visits = 0
      const statements = await statementsOf(store, async () => {
        visits = (await askBench(store, 'plan', {}, timeNow())).visits.length
      })
      expect(visits).toBeGreaterThan(10)
      expect(statements.length).toBe(1)
      expect(at(statements, 0)).toContain('count(*)')
    }))
})
