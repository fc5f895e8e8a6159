import type { Reader } from '#core/store/open.ts'
import type { HeavyRow } from '#core/store/heavy.ts'
import type { Verdict } from '#core/weight/verdict.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import type { WhyChanged } from '#core/words/sentences/look-back.ts'

/** What was said of a weight before, lb, and why it is no longer held. */
export interface LookBack {
  readonly verdict: Verdict
  readonly weightLb: number | null
  readonly uLb: number | null
  readonly because: WhyChanged
}

/** The groups whose line is found to have moved, and since when (ms UTC). */
export interface MovedLines {
  readonly ofGroup: ReadonlyMap<number, { readonly name: string; readonly since: number }>
  readonly ofUnit: ReadonlyMap<string, { readonly name: string; readonly since: number }>
}

export async function readMovedLines(db: Reader): Promise<MovedLines> {
  const rows = await db
    .selectFrom('finding as f')
    .innerJoin('axle_group as g', 'g.id', 'f.group_id')
    .innerJoin('unit as u', 'u.id', 'g.unit_id')
    .select(['g.id', 'u.number', 'g.name', 'f.since'])
    .where('f.code', '=', 'checks-drifting')
    .where('f.since', 'is not', null)
    .orderBy('f.since', 'desc')
    .execute()
  const named = rows.map(({ id, number, name, since }) => ({
    id,
    number,
    moved: { name: `${number} ${name}`, since: fromStoredInstant(since as string) },
  }))
  return {
    ofGroup: new Map(named.map(({ id, moved }) => [id, moved])),
    ofUnit: new Map(named.map(({ number, moved }) => [number, moved])),
  }
}

/** The look-back of one row of the log; null where what is held now is what was always said. units: its combination. */
export function lookBackOf(row: HeavyRow, units: readonly string[], moved: MovedLines): LookBack | null {
  const said =
    row.said_verdict === null
      ? row.line_verdict === null || row.line_verdict === row.verdict
        ? null
        : { verdict: row.line_verdict, weightLb: row.line_weight_lb, uLb: row.line_u_lb }
      : { verdict: row.said_verdict, weightLb: row.said_weight_lb, uLb: row.said_u_lb }
  return said && { ...said, because: becauseOf(row, units, moved) }
}

function becauseOf(row: HeavyRow, units: readonly string[], { ofGroup, ofUnit }: MovedLines): WhyChanged {
  const off =
    row.group_id === null
      ? units.map((unit) => ofUnit.get(unit)).find((found) => found !== undefined)
      : ofGroup.get(row.group_id)
  if (off && off.since <= fromStoredInstant(row.weighed_at))
    return { why: 'line moved', group: off.name, since: off.since }
  if (row.provisional === 1) return { why: 'provisional', group: row.group }
  return row.said_verdict === null ? { why: 'all evidence' } : { why: 'record changed' }
}
