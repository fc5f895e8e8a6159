import { lineLives } from '#core/evidence/line-life.ts'
import { groupStates } from '#core/evidence/state/life-states.ts'
import { contextOf, learnEstimates } from '#core/findings/assess-fleet.ts'
import { judgeInThreads } from '#core/jobs/judge-in-threads.ts'
import { catchUp, catchUpTouched } from '#core/store/catch-up.ts'
import { readColumns, readRecord } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { openStore } from '#core/store/open.ts'
import { type RecordColumns, columnSource } from '#core/store/record-columns.ts'
import { listRoster } from '#core/store/roster.ts'
import { numberOf } from '#core/store/rows.ts'
import { readAsOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { asOf, largeDatabase, memory } from '#tests/bench/data.ts'
import { medianMs, megabytes, milliseconds, seconds, times, whole } from '#tests/bench/figures.ts'
import { runProgram, runTareline } from '#tests/bench/program.ts'
import { type Section, atMost } from '#tests/bench/section.ts'
import { noteChange } from '#tests/store/note-change.ts'

/** The least that judging a fleet can cost: every pressure read once with its reading and circuit. */
const everyPressure =
  'select count(*), sum(p.psi), max(r.taken_at) from reading_pressure p join reading r on r.id = p.reading_id join circuit c on c.id = p.circuit_id;'

/**
 * Learns from a fleet and judges every group in threads, as in a process that has just started; how many findings there
 * are.
 */
async function judgeAll(file: string, record: RecordColumns, rules: HouseRules, asOf: number): Promise<number> {
  const estimates = learnEstimates(columnSource(record), rules)
  const order = { record, rules, asOf, figures: { estimates, heardUntil: asOf }, dismissed: new Set<string>() }
  let found = 0
  for await (const { findings } of judgeInThreads(file)(order)) found += findings.length
  return found
}

/** How long one thread works out the states through time of the lines of every group, ms; nothing else is counted. */
function followLines(record: RecordColumns, rules: HouseRules, asOf: number): number {
  const source = columnSource(record)
  const estimates = learnEstimates(source, rules)
  const context = contextOf(source, { rules, estimates, asOf, heardUntil: asOf, dismissed: new Set() })
  let ms = 0
  for (const { groupId } of source.groups) {
    const history = source.historyOf(groupId)
    if (!history) throw new Error(`the group ${groupId} has no history`)
    const lifts = lineLives(history, context).map(({ lift }) => lift)
    const started = performance.now()
    groupStates(history, lifts, context)
    ms += performance.now() - started
  }
  return ms
}

export const questions: Section = {
  title: 'Questions to 10,000 units, 25,000 sensed groups, 1,000,000 rows of readings',
  against:
    'trust, judging: the sqlite3 program reading every pressure once with its reading; Roster: the units and the stored standings read as they lie',
  measure: async () => {
    const file = await largeDatabase()
    const floor = (await runProgram('sqlite3', ['-readonly', file], { input: everyPressure })).ms
    const trust = await runTareline('trust', '--db', file, '--as-of', asOf, '--json')
    const listed = (JSON.parse(trust.output) as unknown[]).length

    const store = await openStore(file, { mustExist: true })
    try {
      const day = readAsOf(asOf, 'UTC') as number
      const opening = performance.now()
      const record = readColumns(store, { untilMs: day })
      const read = performance.now() - opening
      const rules = await readHouseRules(store.db)
      const followed = followLines(record, rules, day)
      const judging = performance.now()
      const used = process.cpuUsage()
      const found = await judgeAll(file, record, rules, day)
      const judged = performance.now() - judging
      const { user, system } = process.cpuUsage(used)
      const storing = performance.now()
      await catchUp(store, day)
      const stored = performance.now() - storing
      const roster = await medianMs(9, () => listRoster(store))
      const bareRows = await medianMs(9, () => [
        store.raw
          .prepare('select u.*, y.name as yard from unit u left join yard y on y.id = u.yard_id order by u.number')
          .all(),
        store.raw.prepare('select * from group_standing').all(),
      ])
      const { id } = await store.db
        .selectFrom('unit')
        .select('id')
        .orderBy('number')
        .offset(5000)
        .limit(1)
        .executeTakeFirstOrThrow()
      const groups = numberOf(store.raw, `select count(*) from group_standing where unit_id = ${id}`)
      const one = await medianMs(9, () => readRecord(store, { untilMs: day, unitIds: [id] }))
      const anew = await medianMs(9, async () => {
        await noteChange(store, [id])
        await catchUpTouched(store, day)
      })
      return [
        {
          what: `trust, command line, ${whole(listed)} groups`,
          measured: seconds(trust.ms),
          baseline: seconds(floor),
          ratio: `${times(trust.ms / floor)} as long`,
        },
        {
          what: '  peak memory',
          measured: megabytes(trust.peakBytes),
          goal: atMost(trust.peakBytes, memory, megabytes),
        },
        {
          what: 'the whole record read into columns',
          measured: seconds(read),
          baseline: seconds(floor),
          ratio: `${times(read / floor)} as long`,
        },
        {
          what: 'the states of the lines of 25,000 groups through time, one thread',
          measured: seconds(followed),
          baseline: seconds(floor),
          ratio: `${times(followed / floor)} as long`,
          goal: atMost(followed, 3000, seconds),
        },
        {
          what: `25,000 groups judged for the first time, ${whole(found)} findings`,
          measured: seconds(judged),
          baseline: seconds(floor),
          ratio: `${times(judged / floor)} as long`,
          goal: atMost(judged, 3000, seconds),
        },
        { what: '  processor time, all threads', measured: seconds((user + system) / 1000) },
        {
          what: 'whole fleet read, judged and stored',
          measured: seconds(stored),
          baseline: seconds(floor),
          ratio: `${times(stored / floor)} as long`,
        },
        { what: 'the record of one unit read', measured: milliseconds(one) },
        {
          what: 'that unit read, judged and stored after a change',
          measured: milliseconds(anew),
          goal: atMost(anew / groups, 5, (ms) => `${ms} ms a group`),
        },
        {
          what: `Roster's query, ${whole(listRoster(store).length)} units`,
          measured: milliseconds(roster),
          baseline: milliseconds(bareRows),
          ratio: `${times(roster / bareRows)} as long`,
          goal: atMost(roster, 200, milliseconds),
        },
      ]
    } finally {
      await store.close()
    }
  },
}
