import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { type HeavyRow, eachHeavy, listCombinations } from '#core/store/heavy.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { lookBackOf, readMovedLines } from '#core/store/look-back.ts'
import { verdicts } from '#core/weight/verdict.ts'
import { expanded } from '#core/words/coverage.ts'
import { localTimeOf, parseDay, startOfDay } from '#core/words/day.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { sayOfRules } from '#core/words/say.ts'
import { sayThenNow, sayWhyChanged } from '#core/words/sentences/look-back.ts'
import { type Command, dbOption, readMoment, withStore } from '#electron/command/command.ts'

/** One load whose verdict has changed, as the document has it: weights lb, uncertainties standard. */
function rowOf(row: HeavyRow, units: readonly string[], verdictThen: string, saidLb: number | null, because: string) {
  return {
    reading: row.reading,
    taken_at: row.weighed_at,
    unit: row.unit,
    units,
    limit: row.limit_kind,
    group: row.group ?? 'gross',
    limit_lb: row.limit_lb,
    line_weight_lb: row.line_weight_lb,
    u_line_lb: row.line_u_lb,
    said_weight_lb: saidLb,
    weight_lb: row.weight_lb,
    u_lb: row.u_lb,
    verdict_then: verdictThen,
    verdict_now: row.verdict,
    because,
    note: row.note,
  }
}
type LookBackRow = ReturnType<typeof rowOf>

function lineOf(row: LookBackRow, zone: string): string {
  const lb = (value: number) => Math.round(value).toLocaleString('en-US')
  const then = row.said_weight_lb === null ? '' : `, then ${lb(row.said_weight_lb)} lb`
  return (
    `${localTimeOf(fromStoredInstant(row.taken_at), zone).replace('T', ' ')}  ${row.units.join(' + ')}  ` +
    `${row.unit} ${row.group}: ${sayThenNow(row.verdict_then, row.verdict_now)}; ` +
    `${lb(row.weight_lb)} ± ${lb(expanded(row.u_lb))} lb of ${lb(row.limit_lb)}${then}. ${row.because}`
  )
}

/** Lists the loads of which something else was said than what is held now. */
export const lookBackCommand: Command = {
  name: 'look-back',
  summary: 'List the loads whose verdict has changed since it was shown, by how much and why.',
  arguments: [],
  options: {
    db: dbOption,
    since: { type: 'string', value: 'DATE', about: 'loads weighed from this day on; without it all' },
  },
  run: (input) =>
    withStore(input.text('db'), async (store) => {
      const rules = await readHouseRules(store.db)
      const { zone } = rules
      const day = parseDay(input.textOr('since') ?? '')
      const since = day === undefined ? readMoment(input, 'since', zone) : startOfDay(day, zone)
      await catchUp(store, timeNow())
      const moved = await readMovedLines(store.db)
      const say = sayOfRules(rules)
      const found: LookBackRow[] = []
      const filter = {
        verdicts,
        kinds: ['group', 'gross'] as const,
        sources: ['onboard'] as const,
        superseded: false,
        changed: true,
        from: since === undefined ? undefined : toStoredInstant(since),
      }
      for await (const rows of eachHeavy(store.db, filter)) {
        const units = await listCombinations(store.db, [...new Set(rows.map(({ weighing }) => weighing))])
        for (const row of rows) {
          const own = units.get(row.weighing) ?? []
          const back = lookBackOf(row, own, moved)
          if (back) found.push(rowOf(row, own, back.verdict, back.weightLb, sayWhyChanged(back.because, say)))
        }
      }
      return {
        document: found,
        text:
          found.length === 0
            ? 'No verdict that was shown has changed.'
            : found.map((row) => lineOf(row, zone)).join('\n'),
      }
    }),
}
