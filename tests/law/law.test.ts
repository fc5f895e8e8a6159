import fc from 'fast-check'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { join } from 'node:path'
import { upToDate } from '#core/api/freshen.ts'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { isCurrent as areCurrent } from '#core/store/books.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { openStore } from '#core/store/open.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'
import { countAhead, judgedAnew, namedOutcome, storedOutcome } from './judged-anew.ts'
import { type LawApp, makePattern, openLawApp, removePattern } from './law-fleet.ts'
import { type LawStep, doStep, steps } from './steps.ts'

const sequences = isNightly ? 2000 : 100
/** Sequences that broke the law once, in runs of the long form. */
const brokeOnce: [LawStep[]][] = [
  // A weight that stood in the log for its line alone, all but surely under by thin evidence, was held to have changed.
  [
    [
      { what: 'swapCells', pick: [2325, 1288, 4810, 5967] },
      { what: 'reading', pick: [7928, 6525, 3160, 7173] },
      { what: 'setAside', pick: [8040, 224, 2931, 6551] },
      { what: 'correct', pick: [930, 1333, 8951, 3039] },
      { what: 'reading', pick: [3696, 2990, 5429, 5458] },
      { what: 'weighIn', pick: [2919, 1718, 5502, 4305] },
    ],
  ],
]
const counts = {
  sequences: 0,
  steps: 0,
  refused: 0,
  'compared while current': 0,
  'with records dated ahead': 0,
  'offers of a weighing': 0,
}

const isCurrent = ({ context }: LawApp) => context.fleet.use(({ db }) => areCurrent(db, timeNow()))

/**
 * Where the app says current, what is stored is what judging and weighing the whole record anew gives, and what counts
 * of it is the same without the records that are dated ahead. Both are read while nobody else writes: a job of the day
 * before may go on meanwhile.
 */
async function compareIfCurrent(app: LawApp, step: LawStep): Promise<void> {
  await app.context.fleet.use(async (store) => {
    const { db, raw } = store
    raw.exec('begin immediate')
    try {
      if (!(await areCurrent(db, timeNow()))) return
      const stored = await storedOutcome(store)
      const after = `after ${step.what} ${step.pick.join(' ')}`
      expect(stored, after).toEqual(await judgedAnew(store, 'the whole record'))
      counts['compared while current'] += 1
      counts['offers of a weighing'] += stored.counted.standings.filter((row) => row.includes('"weigh_next":"{')).length
      if ((await countAhead(store)) === 0) return
      const { counted } = await judgedAnew(store, 'what is not dated ahead')
      expect(stored.counted, `${after}, of what is not dated ahead`).toEqual(counted)
      counts['with records dated ahead'] += 1
    } finally {
      raw.exec('rollback')
    }
  })
}

beforeAll(makePattern)
afterAll(() => {
  removePattern()
  keepTally('law', { title: 'The law: whatever is called current is what the whole record says', counts, failed: 0 })
})

describe('whatever the app calls current', () => {
  it(
    'is what judging and weighing the whole record anew gives, whoever did what in whichever order',
    async () => {
      await fc.assert(
        fc.asyncProperty(steps, async (sequence) => {
          const app = await openLawApp()
          try {
            counts.sequences += 1
            for (const step of sequence) {
              counts.steps += 1
              if (!(await doStep(app, step))) counts.refused += 1
              await compareIfCurrent(app, step)
            }
            // What was left to the shared job is done now.
            await app.context.fleet.use((store) => upToDate(store, timeNow()))
            expect(await isCurrent(app)).toBe(true)
            await compareIfCurrent(app, { what: 'undo', pick: [] })
            expect(app.reported).toEqual([])
          } finally {
            await app.close()
          }
        }),
        { numRuns: sequences, endOnFailure: true, examples: brokeOnce },
      )
    },
    isNightly ? 7_200_000 : 900_000,
  )

  it(
    'is the same in a file made of its export',
    async () => {
      // A fleet folder holds neither House Rules, nor what was set aside, nor whether a unit is retired.
      const kept = steps.map((sequence) =>
        sequence.filter(({ what }) => !['changeRule', 'changeZone', 'setAside', 'copyOrRetire'].includes(what)),
      )
      await fc.assert(
        fc.asyncProperty(kept, async (sequence) => {
          const app = await openLawApp()
          const folder = join(app.folder, 'out')
          try {
            for (const step of sequence) await doStep(app, step)
            const own = await app.context.fleet.use(async (store) => {
              // No job of before learns beside what is learnt here.
              await upToDate(store, timeNow())
              await exportFolder(store, folder)
              // Both learn from the same record at the same moment.
              await store.db.insertInto('behind_fleet').values({ what: 'learn', since: 1 }).execute()
              await store.db.deleteFrom('fleet_figures').execute()
              await catchUp(store, timeNow())
              return await namedOutcome(store)
            })
            const other = await openStore(join(app.folder, 'other.tareline'))
            try {
              expect((await importFolder(other, folder)).outcome).toBe('stored')
              await catchUp(other, timeNow())
              expect(await namedOutcome(other)).toEqual(own)
            } finally {
              await other.close()
            }
          } finally {
            await app.close()
          }
        }),
        { numRuns: isNightly ? 200 : 15, endOnFailure: true },
      )
    },
    isNightly ? 7_200_000 : 900_000,
  )

  it('was compared, and what was done was mostly accepted', () => {
    expect(counts['compared while current']).toBeGreaterThan(3 * sequences)
    expect(counts['with records dated ahead']).toBeGreaterThan(sequences / 2)
    expect(counts['offers of a weighing']).toBeGreaterThan(sequences)
    expect(counts.refused / counts.steps).toBeLessThan(0.5)
  })
})
