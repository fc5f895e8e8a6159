import type { Compilable } from 'kysely'
import { setImmediate } from 'node:timers/promises'
import { type MountedCell, batteryFindings } from '#core/cells/fleet-cells.ts'
import { type FleetFigures, addLaws, figuresToText } from '#core/cells/fleet-figures.ts'
import type { StratumLaw } from '#core/cells/life-model.ts'
import type { FleetEstimates } from '#core/evidence/estimates.ts'
import type { FleetSource } from '#core/evidence/history.ts'
import {
  type FleetJudgement,
  type JudgedGroup,
  contextOf,
  judgeFleet,
  judgeGroups,
  learnEstimates,
  otherFindings,
} from '#core/findings/assess-fleet.ts'
import type { GroupAssessment } from '#core/findings/assessment.ts'
import type { Finding } from '#core/findings/finding.ts'
import { notDismissed } from '#core/findings/set-aside.ts'
import {
  areBookedFor,
  figuresNow,
  isStillTaught,
  markWholeFleet,
  readFiguresOfDay,
  revisionNow,
} from '#core/store/books.ts'
import { readFleetCells, readUnitCells } from '#core/store/cells.ts'
import { readDismissalMarks } from '#core/store/dismissals.ts'
import { openRecord, openTeachers, readColumns, readGroups } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { unitsBeside } from '#core/store/reading-units.ts'
import { type RecordColumns, columnSource } from '#core/store/record-columns.ts'
import { noteRenewal, shownOnRoster } from '#core/store/renewals.ts'
import { renewRosterLines } from '#core/store/roster-lines.ts'
import { walk } from '#core/store/rows.ts'
import { heardUntil } from '#core/store/silences.ts'
import type { Watch } from '#core/store/watch.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { toStoredInstant } from '#core/words/instant.ts'

/** Findings about cells, which have no part in the trust of a line. */
const cellFindings = (cells: readonly MountedCell[], rules: HouseRules, dismissed: ReadonlySet<string>): Finding[] =>
  notDismissed(batteryFindings(cells, rules), dismissed)

/**
 * Reads the record as known on a day (the end of it, ms UTC) and judges it by the House Rules, or by others, group by
 * group as they are asked for; nothing is stored. What the fleet teaches is what was learnt on that very day, and is
 * learnt from the record of any other.
 */
export async function judgeStore(store: Store, asOf: number, others?: HouseRules): Promise<FleetJudgement> {
  const rules = others ?? (await readHouseRules(store.db))
  const dismissed = await readDismissalMarks(store.db)
  const figures = await readFiguresOfDay(store.db, asOf)
  const reach = figures?.heardUntil ?? heardUntil(store, asOf)
  const judged = judgeFleet(openRecord(store, { untilMs: asOf }), rules, asOf, {
    dismissed,
    known: others ? undefined : figures?.estimates,
    heardUntil: reach,
  })
  const { mounted } = readFleetCells(store, rules, asOf, { heardUntil: reach })
  return { ...judged, others: [...judged.others, ...cellFindings(mounted, rules, dismissed)] }
}

/** Units whose record is held at once: some 10 MB. */
const heldAtOnce = 1500

/** All units, those that stood on a ticket together last side by side. */
const unitsSideBySide = ({ db, raw }: Store): number[] =>
  Array.from(
    walk<[number]>(
      raw,
      db
        .selectFrom('unit as u')
        .select('u.id')
        .orderBy((eb) =>
          eb
            .selectFrom('ticket_weight as w')
            .whereRef('w.unit_id', '=', 'u.id')
            .select('w.ticket_id')
            .orderBy('w.id', 'desc')
            .limit(1),
        )
        .orderBy('u.id'),
    ),
    ([unitId]) => unitId,
  )

/**
 * What `make` makes of every sensed group as judged on a day (the end of it, ms UTC), in the order of the fleet. The
 * same judgement as `judgeStore`'s, of some units after the other, so that little of a large record is held at once.
 */
export async function judgeEach<T>(
  store: Store,
  asOf: number,
  make: (group: JudgedGroup) => T,
  unitsAtOnce = heldAtOnce,
): Promise<T[]> {
  const rules = await readHouseRules(store.db)
  const dismissed = await readDismissalMarks(store.db)
  const figures = await readFiguresOfDay(store.db, asOf)
  const known = await estimatesOn(store, rules, asOf)
  const given = { dismissed, known, heardUntil: figures?.heardUntil ?? heardUntil(store, asOf) }
  const units = unitsSideBySide(store)
  const made = new Map<number, T>()
  for (let from = 0; from < units.length; from += unitsAtOnce) {
    const source = openUnits(store, units.slice(from, from + unitsAtOnce), asOf)
    for (const group of judgeFleet(source, rules, asOf, given).groups) made.set(group.history.groupId, make(group))
  }
  return readGroups(store, { untilMs: asOf }).flatMap(({ groupId }) => {
    const one = made.get(groupId)
    return one === undefined ? [] : [one]
  })
}

/**
 * What the record until a moment (ms UTC) teaches of the fleet. Takes seconds for a large one, unless it is of today.
 */
export const estimatesOn = async (store: Store, rules: HouseRules, asOf: number): Promise<FleetEstimates> =>
  (await readFiguresOfDay(store.db, asOf))?.estimates ?? learnEstimates(openTeachers(store, asOf), rules)

function standingRow({ history, trust, current, dueOn, uLimitLb, weighNext }: GroupAssessment, judgedFor: string) {
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
    judged_for: judgedFor,
    weigh_next: weighNext && JSON.stringify(weighNext),
    weigh_regains: weighNext?.weighings[0]?.regained ?? null,
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

const run = ({ raw }: Store, ...queries: readonly Compilable[]): void => {
  for (const query of queries) {
    const { sql, parameters } = query.compile()
    raw.prepare(sql).run(...parameters)
  }
}

/** What a group was judged to be, as rows: plain data. */
export interface GroupOutcome {
  readonly unitId: number
  readonly standing: ReturnType<typeof standingRow>
  readonly findings: readonly ReturnType<typeof findingRow>[]
  /** Groups whose lines were looked at. */
  readonly lookedAt: readonly number[]
}

const groupOutcome = (group: JudgedGroup, judgedFor: string): GroupOutcome => ({
  unitId: group.history.unitId,
  standing: standingRow(group, judgedFor),
  findings: group.findings.map(findingRow),
  lookedAt: group.lookedAt,
})

/** A fleet to be judged as it was read, by what it taught: plain data, which a thread can be handed. */
export interface JudgeOrder {
  readonly record: RecordColumns
  readonly rules: HouseRules
  /** The end of the day that it is judged for, ms UTC. */
  readonly asOf: number
  readonly figures: Pick<FleetFigures, 'estimates' | 'heardUntil'>
  readonly dismissed: ReadonlySet<string>
}

const contextFor = (source: FleetSource, { rules, asOf, figures, dismissed }: JudgeOrder) =>
  contextOf(source, { rules, asOf, dismissed, estimates: figures.estimates, heardUntil: figures.heardUntil })

/** Makes ready to judge an order: answers who judges its groups from one place to before another, one at a time. */
export function judgeOf(order: JudgeOrder): (from: number, to: number) => Generator<GroupOutcome> {
  const source = columnSource(order.record)
  const context = contextFor(source, order)
  const judgedFor = toStoredInstant(order.asOf)
  return function* (from, to) {
    const part = { ...source, groups: source.groups.slice(from, to) }
    for (const group of judgeGroups(part, context)) yield groupOutcome(group, judgedFor)
  }
}

/** Judges all groups of an order, one at a time. */
export const judgeOrdered = (order: JudgeOrder): Generator<GroupOutcome> =>
  judgeOf(order)(0, order.record.groups.length)

/** Whoever judges the groups of a fleet, in their order. */
export type Judge = (order: JudgeOrder) => Iterable<GroupOutcome> | AsyncIterable<GroupOutcome>

/** What a judgement comes to, as rows. */
interface Outcome {
  readonly standings: readonly GroupOutcome['standing'][]
  readonly findings: readonly GroupOutcome['findings'][number][]
  /** Groups whose lines were looked at when a unit was judged. */
  readonly judgedWith: readonly { readonly group_id: number; readonly unit_id: number }[]
}

function outcomeOf(groups: Iterable<GroupOutcome>, found: readonly Finding[]): Outcome {
  const standings: Outcome['standings'][number][] = []
  const findings: Outcome['findings'][number][] = []
  const pairs = new Map<string, Outcome['judgedWith'][number]>()
  for (const { unitId, standing, findings: own, lookedAt } of groups) {
    standings.push(standing)
    findings.push(...own)
    for (const other of lookedAt) pairs.set(`${other} ${unitId}`, { group_id: other, unit_id: unitId })
  }
  findings.push(...found.map(findingRow))
  return { standings, findings, judgedWith: [...pairs.values()] }
}

function insertOutcome(store: Store, { standings, findings, judgedWith }: Outcome): void {
  const { db } = store
  insertAll(store, standings, (row) => db.insertInto('group_standing').values(row))
  insertAll(store, findings, (row) => db.insertInto('finding').values(row))
  insertAll(store, judgedWith, (row) => db.insertInto('judged_with').values(row))
}

/**
 * Keeps the trust that groups were judged to have for an earlier day, before they are judged for another: what a day
 * changed is told by it. Judged twice for one day, a group keeps what it had before that day.
 */
function keepTrustBefore(store: Store, asOf: number, unitIds: readonly number[]): void {
  const { db } = store
  const earlier = db
    .selectFrom('group_standing')
    .select(['group_id', 'judged_for', 'trust'])
    .where('judged_for', '<', toStoredInstant(asOf))
    .$narrowType<{ judged_for: string }>()
  run(
    store,
    db
      .insertInto('standing_before')
      .columns(['group_id', 'judged_for', 'trust'])
      .expression(earlier.where('unit_id', 'in', unitIds))
      .onConflict((conflict) =>
        conflict
          .column('group_id')
          .doUpdateSet(({ ref }) => ({ judged_for: ref('excluded.judged_for'), trust: ref('excluded.trust') })),
      ),
  )
}

/** Takes off marks that were set at a revision or before, and rows that mark nothing any more. */
function clearJudgeMarks(store: Store, revision: number, unitIds?: readonly number[]): void {
  const { db } = store
  const marked = db.updateTable('behind_unit').set({ judge_since: null }).where('judge_since', '<=', revision)
  run(
    store,
    unitIds ? marked.where('unit_id', 'in', unitIds) : marked,
    db.deleteFrom('behind_unit').where('judge_since', 'is', null).where('weigh_since', 'is', null),
  )
}

/** Puts what units were judged to be in place of what is stored of them, and counts a renewal of those it is about. */
function replaceOutcome(
  store: Store,
  unitIds: readonly number[],
  outcome: Outcome,
  { asOf, about }: { readonly asOf: number; readonly about: 'all of them' | 'where the Roster changes' },
): void {
  const { db } = store
  keepTrustBefore(store, asOf, unitIds)
  const before = about === 'all of them' ? undefined : shownOnRoster(store, unitIds)
  run(
    store,
    db.deleteFrom('group_standing').where('unit_id', 'in', unitIds),
    db.deleteFrom('finding').where('unit_id', 'in', unitIds),
    db.deleteFrom('judged_with').where('unit_id', 'in', unitIds),
  )
  insertOutcome(store, outcome)
  renewRosterLines(store, unitIds)
  const after = before && shownOnRoster(store, unitIds)
  noteRenewal(store, after ? unitIds.filter((unitId) => before.get(unitId) !== after.get(unitId)) : unitIds)
}

/** The findings that are about no unit. */
function replaceUnplaced(store: Store, findings: readonly Finding[]): void {
  const { db } = store
  run(store, db.deleteFrom('finding').where('unit_id', 'is', null))
  insertAll(store, findings.map(findingRow), (row) => db.insertInto('finding').values(row))
}

/** Units judged between two looks at whether anybody else wants to write, or the work is to end. */
const unitsAtOnce = 50

interface Stretches {
  readonly asOf: number
  /** Of the record that was read. */
  readonly revision: number
  /** What was found beside the groups' own lines. */
  readonly found: readonly Finding[]
  readonly watch: Watch
}

/**
 * Judges a whole fleet and stores it in stretches of units. Units that were judged by a newer record meanwhile stay as
 * they are, as their marks have them judged once more.
 */
async function storeStretches(
  store: Store,
  groups: ReturnType<Judge>,
  { asOf, revision, found, watch }: Stretches,
): Promise<void> {
  const { db, raw } = store
  const newerUnits = raw
    .prepare(db.selectFrom('behind_unit').select('unit_id').where('judge_since', '>', 0).compile().sql)
    .pluck()
  const ofUnit = Map.groupBy(found, ({ unitId }) => unitId)
  const left = new Set(Array.from(walk<[number]>(raw, db.selectFrom('unit').select('id')), ([unitId]) => unitId))
  const all = left.size
  const keep = async (unitIds: readonly number[], judged: readonly GroupOutcome[]) => {
    raw
      .transaction(() => {
        const newer = new Set(newerUnits.all(revision) as number[])
        const own = unitIds.filter((unitId) => !newer.has(unitId))
        const ofOwn = judged.filter(({ unitId }) => !newer.has(unitId))
        const beside = own.flatMap((unitId) => ofUnit.get(unitId) ?? [])
        replaceOutcome(store, own, outcomeOf(ofOwn, beside), { asOf, about: 'where the Roster changes' })
      })
      .immediate()
    for (const unitId of unitIds) left.delete(unitId)
    watch(1 - left.size / Math.max(1, all))
    await setImmediate()
  }
  // The groups of a unit come one after the other.
  let judged: GroupOutcome[] = []
  let units = new Set<number>()
  for await (const group of groups) {
    const { unitId } = group
    if (units.size === unitsAtOnce && !units.has(unitId)) {
      await keep([...units], judged)
      judged = []
      units = new Set()
    }
    units.add(unitId)
    judged.push(group)
  }
  await keep([...units], judged)
  const unsensed = [...left]
  for (let from = 0; from < unsensed.length; from += unitsAtOnce)
    await keep(unsensed.slice(from, from + unitsAtOnce), [])
  raw.transaction(() => replaceUnplaced(store, ofUnit.get(null) ?? [])).immediate()
}

/**
 * Judges the whole record for a moment (the end of a day, ms UTC) with the fleet's figures and stores the outcome. The
 * record is read as of one revision and judged group by group, and each stretch of units is stored once it is judged,
 * so that no save waits for long; what changed meanwhile stays marked as behind. Takes seconds for a large fleet: run
 * it off the window's thread. judge: who judges the groups, this thread unless others help.
 */
export async function judgeWholeFleet(
  store: Store,
  figures: FleetFigures,
  asOf: number,
  watch: Watch = () => {},
  judge: Judge = judgeOrdered,
): Promise<void> {
  const { db, raw } = store
  // Before anything is read: what changes while it is read is marked by a later one, and judged once more.
  const revision = markWholeFleet(store, 'judge')
  const rules = await readHouseRules(db)
  const dismissed = await readDismissalMarks(db)
  const { record, cells } = raw.transaction(() => ({
    record: readColumns(store, { untilMs: asOf }),
    cells: readFleetCells(store, rules, asOf, { laws: figures.cellLaws, heardUntil: figures.heardUntil }),
  }))()
  const order: JudgeOrder = { record, rules, asOf, figures, dismissed }
  const source = columnSource(record)
  const found = [...otherFindings(source, contextFor(source, order)), ...cellFindings(cells.mounted, rules, dismissed)]
  await storeStretches(store, judge(order), { asOf, revision, found, watch })
  raw
    .transaction(() => {
      const isByFiguresOfNow = isStillTaught(store, figures)
      keepLaws(store, figures, cells.model.strata)
      if (isByFiguresOfNow)
        run(store, db.deleteFrom('behind_fleet').where('what', '=', 'judge').where('since', '<=', revision))
      else markWholeFleet(store, 'judge')
      run(
        store,
        db.updateTable('books').set(({ ref }) => ({
          judged_for: toStoredInstant(asOf),
          judged_revision: revision,
          whole_renewal: ref('renewals'),
        })),
      )
      clearJudgeMarks(store, revision)
    })
    .immediate()
}

/** Keeps the laws of conditions that had none yet, so that every later judgement goes by the same. */
function keepLaws(store: Store, figures: FleetFigures, laws: readonly StratumLaw[]): void {
  const more = addLaws(figures, laws)
  if (more.cellLaws.length > figures.cellLaws.length)
    run(
      store,
      store.db
        .updateTable('fleet_figures')
        .set({ figures: figuresToText(more) })
        .where('figures', '=', figuresToText(figures)),
    )
}

/** Every mounted cell, where a unit's own has no law yet: the fleet's lives give it one, which is kept. */
function cellsOfFleet(store: Store, figures: FleetFigures, rules: HouseRules, asOf: number): readonly MountedCell[] {
  const { cellLaws, heardUntil: reach } = figures
  const { model, mounted } = readFleetCells(store, rules, asOf, { laws: cellLaws, heardUntil: reach })
  keepLaws(store, figures, model.strata)
  return mounted
}

/**
 * The units that were judged by looking at the lines of those that are behind in their judgement since after a
 * revision, and then these: only they carry marks, which stay until all are judged.
 */
export function unitsToJudge({ db, raw }: Store, after: number): number[] {
  const behind = db.selectFrom('behind_unit').select('unit_id').where('judge_since', '>', after)
  const looking = db
    .selectFrom('judged_with as j')
    .innerJoin('axle_group as g', 'g.id', 'j.group_id')
    .select('j.unit_id')
    .distinct()
    .where('g.unit_id', 'in', behind)
    .where('j.unit_id', 'not in', behind)
  const idsOf = (query: Compilable) => Array.from(walk<[number]>(raw, query), ([unitId]) => unitId)
  return [...idsOf(looking), ...idsOf(behind)]
}

/**
 * Judges some units anew for a moment (the end of a day, ms UTC) with the fleet's figures and stores the outcome in
 * place of theirs, together with what is found about scales and tickets: what a change of a few records needs. Their
 * marks stay while the whole fleet is behind anyway, or was judged for another day.
 */
export async function judgeUnits(store: Store, unitIds: readonly number[], asOf: number): Promise<void> {
  const { db, raw } = store
  // Before anything is read: what changes while it is read is marked by a later one, and judged once more.
  const revision = revisionNow(store)
  const rules = await readHouseRules(db)
  const dismissed = await readDismissalMarks(db)
  const own = new Set(unitIds)
  raw
    .transaction(() => {
      // Those of this moment: a fleet that is learnt anew beside this is judged by no older ones.
      const figures = figuresNow(store)
      if (!figures) return
      const judged = judgeFleet(openUnits(store, unitIds, asOf), rules, asOf, {
        known: figures.estimates,
        heardUntil: figures.heardUntil,
        dismissed,
      })
      const cells = readUnitCells(store, unitIds, figures, rules, asOf) ?? cellsOfFleet(store, figures, rules, asOf)
      const others = [...judged.others, ...cellFindings(cells, rules, dismissed)]
      const ofOwn = others.filter(({ unitId }) => unitId !== null && own.has(unitId))
      const judgedFor = toStoredInstant(asOf)
      const outcomes = Array.from(judged.groups, (group) => groupOutcome(group, judgedFor))
      replaceOutcome(store, unitIds, outcomeOf(outcomes, ofOwn), { asOf, about: 'all of them' })
      replaceUnplaced(
        store,
        others.filter(({ unitId }) => unitId === null),
      )
      const whole = raw
        .prepare(db.selectFrom('behind_fleet').select('what').where('what', '<>', 'weigh').compile().sql)
        .get('weigh')
      // A job of another day than the fleet was judged for leaves them to who judges for that day.
      if (whole !== undefined || !areBookedFor(store, 'judged_for', asOf)) return
      clearJudgeMarks(store, revision, unitIds)
      run(store, db.updateTable('books').set({ judged_revision: revision }))
    })
    .immediate()
}

/**
 * The record of some units, ready to be judged. The histories of units that share a ticket with them can be asked for
 * too, since a weight typed into the wrong group is told by both; the groups to judge are only those of the units
 * themselves.
 */
export function openUnits(store: Store, unitIds: readonly number[], untilMs: number): FleetSource {
  const own = new Set(unitIds)
  const read = new Set([...unitIds, ...unitsBeside(store, unitIds)])
  const source = openRecord(store, { untilMs, unitIds: [...read] })
  return { ...source, groups: source.groups.filter(({ unitId }) => own.has(unitId)) }
}
