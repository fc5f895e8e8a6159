import { copyFileSync } from 'node:fs'
import { catchUp } from '#core/store/catch-up.ts'
import { tallyByLimit, tallyByMonth, tallyByUnit } from '#core/store/heavy-summary.ts'
import { type HeavyFilter, countHeavy, listCombinations, listHeavy } from '#core/store/heavy.ts'
import { type Store, openStore } from '#core/store/open.ts'
import { weighEach } from '#core/store/weigh-each.ts'
import { weighBehind, weighWholeFleet } from '#core/store/weighings.ts'
import { limitKinds } from '#core/weight/heavy.ts'
import { dayOf, readAsOf } from '#core/words/day.ts'
import { asOf, largeDatabase, memory, readingRows, scratchDatabase } from '#tests/bench/data.ts'
import { medianMs, megabytes, milliseconds, seconds, times, whole } from '#tests/bench/figures.ts'
import { heavyWeighings, insertHeavyRows } from '#tests/bench/heavy-rows.ts'
import { runProgram, withPeakMemory } from '#tests/bench/program.ts'
import { type Measurement, type Section, atMost } from '#tests/bench/section.ts'
import { noteChange } from '#tests/store/note-change.ts'

/** The least that weighing a fleet can cost: every pressure read once with its reading and circuit. */
const everyPressure =
  'select count(*), sum(p.psi), max(r.taken_at) from reading_pressure p join reading r on r.id = p.reading_id join circuit c on c.id = p.circuit_id;'

async function timed(work: () => unknown): Promise<number> {
  const started = performance.now()
  await work()
  return performance.now() - started
}

/** The command line with its answer thrown away: it is larger than a string can be. */
async function weighAtCommand(file: string): Promise<{ ms: number; peakBytes: number }> {
  const peak = withPeakMemory()
  const { ms } = await runProgram(
    'sh',
    [
      '-c',
      'exec "$0" "$@" > /dev/null',
      process.execPath,
      ...peak.args,
      'electron/run.js',
      'tareline',
      'weigh',
      '--db',
      file,
      '--json',
    ],
    { env: peak.env },
  )
  return { ms, peakBytes: peak.read() }
}

async function weighInBulk(store: Store): Promise<number> {
  let readings = 0
  for await (const stretch of weighEach(store, () => null)) readings += stretch.length
  return readings
}

async function measureWeighing(): Promise<Measurement[]> {
  const large = await largeDatabase()
  const { file, remove } = scratchDatabase('weighing')
  copyFileSync(large, file)
  const floor = (await runProgram('sqlite3', ['-readonly', file], { input: everyPressure })).ms
  const against = (ms: number) => ({ baseline: seconds(floor), ratio: `${times(ms / floor)} as long` })
  const store = await openStore(file)
  try {
    const now = readAsOf(asOf, 'UTC') as number
    await catchUp(store, now)
    let readings = 0
    const bulk = await timed(async () => {
      readings = await weighInBulk(store)
    })
    const all = await timed(() => weighWholeFleet(store, now))
    const { unit_id } = await store.db
      .selectFrom('weighed_unit')
      .select('unit_id')
      .where('weighing', '>', readings)
      .limit(1)
      .executeTakeFirstOrThrow()
    const stood = (
      await store.db.selectFrom('weighed_unit').select('weighing').where('unit_id', '=', unit_id).execute()
    ).length
    const one = await medianMs(5, async () => {
      await noteChange(store, [unit_id])
      await weighBehind(store, now)
    })
    const command = await weighAtCommand(file)
    return [
      {
        what: `${whole(readingRows)} rows of readings weighed in bulk: ${whole(readings)} readings, gross and bridge sets too`,
        measured: seconds(bulk),
        ...against(bulk),
        goal: atMost(bulk, 10_000, seconds),
      },
      { what: 'the same with every ticket, and what is heavy stored', measured: seconds(all), ...against(all) },
      {
        what: `a changed calibration: the ${whole(stood)} weighings of its unit weighed anew`,
        measured: milliseconds(one),
      },
      { what: 'weigh --json, command line, 6 kB a reading', measured: seconds(command.ms), ...against(command.ms) },
      {
        what: '  peak memory',
        measured: megabytes(command.peakBytes),
        goal: atMost(command.peakBytes, memory, megabytes),
      },
    ]
  } finally {
    await store.close()
    remove()
  }
}

async function measureLog(): Promise<Measurement[]> {
  const { file, remove } = scratchDatabase('heavy-log')
  const store = await openStore(file)
  try {
    insertHeavyRows(store)
    const { db } = store
    const log: HeavyFilter = { verdicts: ['over'], superseded: false }
    /** A page as the screen asks for it: rows, their combinations, how many there are. */
    const page = (filter: HeavyFilter, offset = 0, sort: 'weighed_at' | 'over_lb' = 'weighed_at') =>
      medianMs(5, async () => {
        const rows = await listHeavy(db, filter, { sort, descending: true, offset, limit: 100 })
        await listCombinations(
          db,
          rows.map(({ weighing }) => weighing),
        )
        await countHeavy(db, filter)
      })
    const floor = await medianMs(5, () =>
      store.raw.prepare('select count(*) from heavy not indexed where p_over > 0').get(),
    )
    const against = (ms: number) => ({
      baseline: milliseconds(floor),
      ratio: `${times(ms / floor)} as long`,
      goal: atMost(ms, 300, milliseconds),
    })
    const newest = await page(log)
    const both = await page({ ...log, verdicts: ['over', 'too close to call'] })
    const deep = await page(log, 300_000)
    const sorted = await page(log, 0, 'over_lb')
    const unit = await page({ ...log, unitId: 7 })
    const yard = await page({ ...log, yardId: 2 })
    const summary = await medianMs(3, async () => {
      const span = { kinds: limitKinds, zone: 'UTC', today: dayOf(readAsOf(asOf, 'UTC') as number, 'UTC') }
      await tallyByMonth(db, span)
      await tallyByUnit(db, span)
      await tallyByLimit(db, span)
    })
    return [
      {
        what: `Heavy Log of ${whole(heavyWeighings)} weighings: newest page`,
        measured: milliseconds(newest),
        ...against(newest),
      },
      { what: '  with what is too close to call', measured: milliseconds(both), ...against(both) },
      { what: '  page 3,000', measured: milliseconds(deep), ...against(deep) },
      { what: '  worst first', measured: milliseconds(sorted), ...against(sorted) },
      { what: '  of one unit', measured: milliseconds(unit), ...against(unit) },
      { what: '  of one yard', measured: milliseconds(yard), ...against(yard) },
      {
        what: '  counted by month, unit and limit',
        measured: milliseconds(summary),
        baseline: milliseconds(floor),
        ratio: `${times(summary / floor)} as long`,
      },
    ]
  } finally {
    await store.close()
    remove()
  }
}

export const weighing: Section = {
  title: 'Weights of 10,000 units, 1,000,000 rows of readings; a Heavy Log of a million weighings',
  against:
    'weighing: the sqlite3 program reading every pressure once with its reading; the log: every heavy row looked at once',
  measure: async () => [...(await measureWeighing()), ...(await measureLog())],
}
