import type { Compilable } from 'kysely'
import { type MountedCell, batteryFindings } from '#core/cells/fleet-cells.ts'
import { estimatesFromText, estimatesToText } from '#core/cells/fleet-figures.ts'
import type { FleetEstimates } from '#core/evidence/estimates.ts'
import type { FleetSource } from '#core/evidence/history.ts'
import { type FleetJudgement, judgeFleet } from '#core/findings/assess-fleet.ts'
import type { GroupAssessment } from '#core/findings/assessment.ts'
import { type Finding, notDismissed } from '#core/findings/finding.ts'
import { readFleetCells, readUnitCells } from '#core/store/cells.ts'
import { readDismissalMarks } from '#core/store/dismissals.ts'
import { openRecord } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { walk } from '#core/store/rows.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'

/** Findings about cells, which have no part in the trust of a line. */
const cellFindings = (cells: readonly MountedCell[], rules: HouseRules, dismissed: ReadonlySet<string>): Finding[] =>
  notDismissed(batteryFindings(cells, rules), dismissed)

/**
 * Reads the record as known on a day and judges it by the House Rules, or by others, group by group as they are asked
 * for; nothing is stored.
 */
export async function judgeStore(store: Store, asOf: number, others?: HouseRules): Promise<FleetJudgement> {
  const rules = others ?? (await readHouseRules(store.db))
  const dismissed = await readDismissalMarks(store.db)
  const judged = judgeFleet(openRecord(store, { untilMs: asOf }), rules, asOf, { dismissed })
  return {
    ...judged,
    others: [...judged.others, ...cellFindings(readFleetCells(store, rules, asOf).mounted, rules, dismissed)],
  }
}

/**
 * What the stored assessment learnt from the whole fleet, as `estimatesToText` wrote it; undefined before the first
 * one.
 */
export const readLearntText = async (db: Reader): Promise<string | undefined> =>
  (await db.selectFrom('assessment').select('estimates').executeTakeFirst())?.estimates

async function readLearnt(db: Reader) {
  const text = await readLearntText(db)
  return text === undefined ? undefined : estimatesFromText(text)
}

/** The fleet's estimates as the stored assessment learnt them; undefined before the first one. */
export const readEstimates = async (db: Reader): Promise<FleetEstimates | undefined> =>
  (await readLearnt(db))?.estimates

function standingRow({ history, trust, current, dueOn, uLimitLb }: GroupAssessment) {
  return {
    group_id: history.groupId,
    unit_id: history.unitId,
    trust,
    calibration_id: current?.calibration.calibrationId ?? null,
    calibrated_at: current ? toStoredInstant(current.calibration.calibratedAt) : null,
    due_on: dueOn,
    a: current?.line.a ?? null,
    b: current?.line.b ?? null,
    u_a: current?.line.uA ?? null,
    u_b: current?.line.uB ?? null,
    cov_ab: current?.line.covAB ?? null,
    u_limit_lb: uLimitLb,
  }
}

function findingRow(finding: Finding) {
  return {
    unit_id: finding.unitId,
    group_id: finding.groupId,
    circuit_id: finding.circuitId,
    scale_id: finding.scaleId,
    ticket_id: finding.ticketId,
    code: finding.code,
    severity: finding.severity,
    since: finding.since === null ? null : toStoredInstant(finding.since),
    numbers: JSON.stringify(finding.numbers),
    variant: finding.variant,
    facts: JSON.stringify(finding.facts),
    evidence: finding.evidence,
  }
}

/** Runs a one-row insert for every row: Kysely writes the SQL once, the prepared statement takes each row's values. */
function insertAll<Row extends object>(
  { raw }: Store,
  rows: readonly Row[],
  insertOne: (row: Row) => Compilable,
): void {
  const [first] = rows
  if (!first) return
  const statement = raw.prepare(insertOne(first).compile().sql)
  for (const row of rows) statement.run(Object.values(row))
}

function readRevision({ db, raw }: Store): number {
  return (raw.prepare(db.selectFrom('ledger').select('revision').compile().sql).get() as { revision: number }).revision
}

const attempts = 5

/**
 * Judges the whole record on a day and stores the outcome, so that the Roster reads it without judging again. The
 * record is read as of one moment and judged group by group; only the outcome is written under a lock, and if the
 * record changed meanwhile it is judged again. Takes seconds for a large fleet: run it off the window's thread.
 */
export async function reassessFleet(store: Store, asOf: number): Promise<void> {
  const { db, raw } = store
  const rules = await readHouseRules(db)
  const dismissed = await readDismissalMarks(db)
  for (let attempt = 1; attempt <= attempts; attempt += 1) {
    const { revision, source, cells } = raw.transaction(() => ({
      revision: readRevision(store),
      source: openRecord(store, { untilMs: asOf }),
      cells: readFleetCells(store, rules, asOf),
    }))()
    const { groups, others, estimates } = judgeFleet(source, rules, asOf, { dismissed })
    const standings: ReturnType<typeof standingRow>[] = []
    const findings: ReturnType<typeof findingRow>[] = []
    for (const group of groups) {
      standings.push(standingRow(group))
      for (const finding of group.findings) findings.push(findingRow(finding))
    }
    for (const finding of others) findings.push(findingRow(finding))
    for (const finding of cellFindings(cells.mounted, rules, dismissed)) findings.push(findingRow(finding))
    const stored = raw
      .transaction(() => {
        if (readRevision(store) !== revision && attempt < attempts) return false
        for (const query of [db.deleteFrom('group_standing'), db.deleteFrom('finding'), db.deleteFrom('assessment')])
          raw.prepare(query.compile().sql).run()
        insertAll(store, standings, (row) => db.insertInto('group_standing').values(row))
        insertAll(store, findings, (row) => db.insertInto('finding').values(row))
        // Under the revision that was judged: should the record have moved on after all, the outcome shows as not
        // current.
        insertAll(
          store,
          [
            {
              id: 1,
              as_of: toStoredInstant(asOf),
              revision,
              estimates: estimatesToText(estimates, cells.model.strata),
            },
          ],
          (row) => db.insertInto('assessment').values(row),
        )
        return true
      })
      .immediate()
    if (stored) return
  }
}

/**
 * Judges some units anew on the day of the stored assessment, with the fleet's estimates of that day, and stores the
 * outcome in place of theirs: what a change of one unit's record needs.
 */
export async function reassessUnits(store: Store, unitIds: readonly number[]): Promise<void> {
  const { db, raw } = store
  const state = await readAssessmentState(db)
  const learnt = await readLearnt(db)
  if (!state || !learnt) return
  const rules = await readHouseRules(db)
  const dismissed = await readDismissalMarks(db)
  const own = new Set(unitIds)
  raw
    .transaction(() => {
      const { groups, others } = judgeFleet(openUnits(store, unitIds, state.asOf), rules, state.asOf, {
        known: learnt.estimates,
        dismissed,
      })
      const standings = [...groups]
      const cells =
        readUnitCells(store, unitIds, learnt.cellLaws, rules, state.asOf) ??
        readFleetCells(store, rules, state.asOf).mounted
      const ofUnits = [...others, ...cellFindings(cells, rules, dismissed)].filter(
        ({ unitId }) => unitId !== null && own.has(unitId),
      )
      const findings = [...standings.flatMap((group) => group.findings), ...ofUnits]
      for (const query of [
        db.deleteFrom('group_standing').where('unit_id', 'in', unitIds),
        db.deleteFrom('finding').where('unit_id', 'in', unitIds),
      ]) {
        const { sql, parameters } = query.compile()
        raw.prepare(sql).run(...parameters)
      }
      insertAll(store, standings.map(standingRow), (row) => db.insertInto('group_standing').values(row))
      insertAll(store, findings.map(findingRow), (row) => db.insertInto('finding').values(row))
      // Current again only if this was the one change since: otherwise other units still wait for their judgement.
      const now = readRevision(store)
      const { sql, parameters } = db
        .updateTable('assessment')
        .set({ revision: now })
        .where('revision', '=', now - 1)
        .compile()
      raw.prepare(sql).run(...parameters)
    })
    .immediate()
}

/**
 * The record of some units, ready to be judged. The histories of units that share a ticket with them can be asked for
 * too, since a weight typed into the wrong group is told by both; the groups to judge are only those of the units
 * themselves.
 */
export function openUnits(store: Store, unitIds: readonly number[], untilMs: number): FleetSource {
  const { db, raw } = store
  const own = new Set(unitIds)
  const partners = db
    .selectFrom('ticket_weight as own')
    .innerJoin('ticket_weight as other', 'other.ticket_id', 'own.ticket_id')
    .select('other.unit_id')
    .distinct()
    .where('own.unit_id', 'in', unitIds)
  const read = new Set([...unitIds, ...Array.from(walk<[number]>(raw, partners), ([unitId]) => unitId)])
  const source = openRecord(store, { untilMs, unitIds: [...read] })
  return { ...source, groups: source.groups.filter(({ unitId }) => own.has(unitId)) }
}

/** When the stored outcome was made and whether the record has changed since; undefined when there is none. */
export async function readAssessmentState(db: Reader): Promise<{ asOf: number; current: boolean } | undefined> {
  const row = await db
    .selectFrom(['assessment as a', 'ledger as l'])
    .select(['a.as_of', 'a.revision', 'l.revision as now'])
    .executeTakeFirst()
  return row && { asOf: fromStoredInstant(row.as_of), current: row.revision === row.now }
}
