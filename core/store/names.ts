import type { Finding } from '#core/findings/finding.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import type { Reader } from '#core/store/open.ts'

/** A finding under the names people use, as the command line's format has it. */
export interface NamedFinding {
  readonly unit: string | null
  readonly group: string | null
  readonly circuit: string | null
  readonly scale: string | null
  readonly ticket: string | null
  readonly code: string
  readonly severity: string
  readonly since: string | null
  readonly numbers: Finding['numbers']
  readonly message: string
  readonly next_step: string
}

const distinct = (ids: readonly (number | null)[]): number[] => [...new Set(ids.filter((id) => id !== null))]

/** SQLite takes some 32,000 values a statement: names of more are asked for in slices. */
async function named(
  ids: readonly number[],
  ask: (slice: number[]) => Promise<readonly { id: number; name: string }[]>,
): Promise<Map<number, string>> {
  const names = new Map<number, string>()
  for (let start = 0; start < ids.length; start += 20_000) {
    for (const { id, name } of await ask(ids.slice(start, start + 20_000))) names.set(id, name)
  }
  return names
}

/** Puts names to the ids of findings: five questions, however many findings. */
export async function nameFindings(db: Reader, findings: readonly Finding[]): Promise<NamedFinding[]> {
  const units = await named(distinct(findings.map((f) => f.unitId)), (ids) =>
    db.selectFrom('unit').select(['id', 'number as name']).where('id', 'in', ids).execute(),
  )
  const groups = await named(distinct(findings.map((f) => f.groupId)), (ids) =>
    db.selectFrom('axle_group').select(['id', 'name']).where('id', 'in', ids).execute(),
  )
  const circuits = await named(distinct(findings.map((f) => f.circuitId)), (ids) =>
    db.selectFrom('circuit').select(['id', 'name']).where('id', 'in', ids).execute(),
  )
  const scales = await named(distinct(findings.map((f) => f.scaleId)), (ids) =>
    db.selectFrom('scale').select(['id', 'name']).where('id', 'in', ids).execute(),
  )
  const tickets = await named(distinct(findings.map((f) => f.ticketId)), (ids) =>
    db.selectFrom('ticket').select(['id', 'number as name']).where('id', 'in', ids).execute(),
  )
  const nameOf = (names: Map<number, string>, id: number | null) => (id === null ? null : (names.get(id) ?? null))
  return findings.map((finding) => ({
    unit: nameOf(units, finding.unitId),
    group: nameOf(groups, finding.groupId),
    circuit: nameOf(circuits, finding.circuitId),
    scale: nameOf(scales, finding.scaleId),
    ticket: nameOf(tickets, finding.ticketId),
    code: finding.code,
    severity: finding.severity,
    since: finding.since === null ? null : toStoredInstant(finding.since),
    numbers: finding.numbers,
    message: finding.message,
    next_step: finding.nextStep,
  }))
}
