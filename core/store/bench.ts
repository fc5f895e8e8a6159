import type { BenchEvidence, BenchFinding, GroupDue, GroupPlace } from '#core/bench/work.ts'
import type { GroupOffer } from '#core/bench/weigh-trips.ts'
import { judgeFleet } from '#core/findings/assess-fleet.ts'
import type { Trust } from '#core/findings/finding.ts'
import type { WeighingOffer } from '#core/findings/weigh-next.ts'
import { areJudgementsOf, readBooks } from '#core/store/books.ts'
import { readDismissalMarks } from '#core/store/dismissals.ts'
import { openRecord } from '#core/store/histories.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { placedGroups } from '#core/store/placed.ts'
import { walk } from '#core/store/rows.ts'
import { heardUntil } from '#core/store/silences.ts'
import { storedDay } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import { saidOf } from '#core/words/sentences/findings.ts'
import type { YardDays } from '#core/words/work-days.ts'

/** Everything the bench plan needs beside the cells. */
export type JudgedEvidence = Omit<BenchEvidence, 'cells'>

/** The groups of units in service, by id. */
function readPlaces({ db, raw }: Store): Map<number, GroupPlace> {
  const query = placedGroups(db)
    .select(['g.id', 'g.name', 'u.id', 'u.number', 'u.yard_id'])
    .where('u.service_state', '=', 'in service')
  type Row = [number, string, number, string, number | null]
  return new Map(
    Array.from(walk<Row>(raw, query), ([groupId, group, unitId, unit, yardId]) => [
      groupId,
      { groupId, group, unitId, unit, yardId },
    ]),
  )
}

/** What the stored assessment says about lines that run out and findings. */
export function readStoredEvidence(store: Store): JudgedEvidence {
  const { db, raw } = store
  const dues: GroupDue[] = Array.from(
    walk<[number, Trust, string | null]>(raw, db.selectFrom('group_standing').select(['group_id', 'trust', 'due_on'])),
    ([groupId, trust, dueOn]) => ({ groupId, trust, dueOn: dueOn === null ? null : storedDay(dueOn) }),
  )
  const query = db
    .selectFrom('finding as f')
    .leftJoin('circuit as c', 'c.id', 'f.circuit_id')
    .select(['f.code', 'f.group_id', 'c.name', 'f.since', 'f.variant', 'f.facts'])
    .where('f.group_id', 'is not', null)
    .orderBy('f.id')
  const findings: BenchFinding[] = Array.from(
    walk<[string, number, string | null, string | null, string, string]>(raw, query),
    ([code, groupId, circuit, since, variant, facts]) => ({
      ...saidOf({ code, variant, facts }),
      groupId,
      circuit,
      since: since === null ? null : fromStoredInstant(since),
    }),
  )
  return { places: readPlaces(store), dues, findings }
}

/**
 * The same as known on a day (ms UTC): from the stored assessment where that is of this day and current, else judged
 * anew.
 */
export async function readEvidence(store: Store, rules: HouseRules, asOf: number): Promise<JudgedEvidence> {
  if (areJudgementsOf(await readBooks(store.db), asOf)) return readStoredEvidence(store)
  const circuits = new Map(
    (await store.db.selectFrom('circuit').select(['id', 'name']).execute()).map(({ id, name }) => [id, name]),
  )
  const dues: GroupDue[] = []
  const findings: BenchFinding[] = []
  const judged = judgeFleet(openRecord(store, { untilMs: asOf }), rules, asOf, {
    heardUntil: heardUntil(store, asOf),
    dismissed: await readDismissalMarks(store.db),
  })
  for (const { history, trust, dueOn, findings: found } of judged.groups) {
    dues.push({ groupId: history.groupId, trust, dueOn })
    for (const { code, variant, facts, groupId, circuitId, since } of found) {
      findings.push({
        code,
        variant,
        facts,
        groupId,
        circuit: circuitId === null ? null : (circuits.get(circuitId) ?? null),
        since,
      })
    }
  }
  return { places: readPlaces(store), dues, findings }
}

/** Of so many units the JSON is read, those whose groups would regain most if each had the weighing that suits it. */
const unitsToRank = 100

/**
 * The weighings that would teach most of the groups of units in service, by the stored assessment: of the units that
 * could teach most, since a large fleet has too many to look at them all on each visit of the Roster.
 */
export function readWeighingOffers({ db, raw }: Store, scales: ReadonlyMap<number, unknown>): GroupOffer[] {
  const query = placedGroups(db)
    .innerJoin('group_standing as l', 'l.group_id', 'g.id')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select(['g.name as group', 'u.id', 'u.number', 'y.name as yard', 'l.weigh_next'])
    .where('l.weigh_next', 'is not', null)
    .where('u.id', 'in', (eb) =>
      eb
        .selectFrom('group_standing as s')
        .innerJoin('unit as v', 'v.id', 's.unit_id')
        .select('s.unit_id')
        .where('s.weigh_regains', 'is not', null)
        .where('v.service_state', '=', 'in service')
        .groupBy('s.unit_id')
        .orderBy(({ fn }) => fn.sum('s.weigh_regains'), 'desc')
        .orderBy('s.unit_id')
        .limit(unitsToRank),
    )
    .orderBy('g.id')
  const offers: GroupOffer[] = []
  for (const [group, unitId, unit, yard, text] of walk<[string, number, string, string | null, string]>(raw, query)) {
    const offer = JSON.parse(text) as WeighingOffer
    const weighings = offer.weighings.filter(({ scaleId }) => scales.has(scaleId))
    if (weighings.length > 0) offers.push({ ...offer, weighings, group, unitId, unit, yard })
  }
  return offers
}

/** When the bench of each yard works, by id: what is typed for it, or nothing. */
export async function readYardDays(db: Reader): Promise<Map<number, YardDays>> {
  const yards = await db.selectFrom('yard').select(['id', 'working_days', 'holidays', 'jobs_per_day']).execute()
  return new Map(
    yards.map(({ id, working_days, holidays, jobs_per_day }) => [
      id,
      { workingDays: working_days, holidays, jobsPerDay: jobs_per_day },
    ]),
  )
}

/** The names of the yards by id. */
export async function yardNames(db: Reader): Promise<Map<number, string>> {
  return new Map((await db.selectFrom('yard').select(['id', 'name']).execute()).map(({ id, name }) => [id, name]))
}
