import type { HeavyEntry } from '#core/contracts/heavy.ts'
import { readBooks } from '#core/store/books.ts'
import { type HeavyRow, listCombinations } from '#core/store/heavy.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { type MovedLines, lookBackOf, readMovedLines } from '#core/store/look-back.ts'
import type { Store } from '#core/store/open.ts'
import { type HouseRules, namesDrivers } from '#core/words/house-rules.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import { sayOfRules } from '#core/words/say.ts'
import { sayWhyChanged } from '#core/words/sentences/look-back.ts'
import { provisionalOf } from '#core/words/sentences/two-weights.ts'

/** What all entries are made by. */
interface Basis {
  readonly moved: MovedLines
  readonly rules: HouseRules
  /** The moment that the stored weights are of, ms UTC. */
  readonly weighedFor: number
}

function entryOf(row: HeavyRow, units: readonly string[], { moved, rules, weighedFor }: Basis): HeavyEntry {
  const say = sayOfRules(rules)
  const lookBack = lookBackOf(row, units, moved)
  const { first_axle: firstAxle, last_axle: lastAxle, length_ft: lengthFt, more_sets: more } = row
  return {
    id: row.id,
    source: row.source,
    superseded: row.superseded === 1,
    weighedAt: row.weighed_at,
    ahead: fromStoredInstant(row.weighed_at) > weighedFor,
    unit: row.unit,
    units: [...units],
    yard: row.yard,
    kind: row.limit_kind,
    group: row.group,
    set:
      firstAxle === null || lastAxle === null || lengthFt === null
        ? null
        : { firstAxle, lastAxle, lengthFt, more: more ?? 0 },
    weightLb: row.weight_lb,
    uLb: row.u_lb,
    limitLb: row.limit_lb,
    overLb: row.over_lb,
    pOver: row.p_over,
    verdict: row.verdict,
    byLine:
      row.line_weight_lb === null || row.line_u_lb === null || row.line_verdict === null
        ? null
        : { weightLb: row.line_weight_lb, uLb: row.line_u_lb, verdict: row.line_verdict },
    provisional: row.provisional === 1,
    provisionalWhy: row.provisional === 1 ? provisionalOf(row.limit_kind, row.role) : null,
    lookBack: lookBack && { ...lookBack, because: sayWhyChanged(lookBack.because, say) },
    reading: row.reading,
    readingId: row.reading_id,
    ticket: row.ticket,
    ticketId: row.ticket_id,
    driver: namesDrivers(rules) ? row.driver : null,
    lane: row.lane,
    scale: row.scale,
    note: row.note,
    noteOn: row.reading !== null && (row.reading_note !== null || row.ticket === null) ? 'reading' : 'ticket',
  }
}

/** Makes entries of the log's rows, stretch by stretch; what all of them rest on is read once. */
export async function entryMaker({ db }: Store): Promise<(rows: readonly HeavyRow[]) => Promise<HeavyEntry[]>> {
  const { weighedFor } = await readBooks(db)
  const basis = { moved: await readMovedLines(db), rules: await readHouseRules(db), weighedFor }
  return async (rows) => {
    const units = await listCombinations(db, [...new Set(rows.map(({ weighing }) => weighing))])
    return rows.map((row) => entryOf(row, units.get(row.weighing) ?? [], basis))
  }
}
