import { type FleetFigures, figuresToText, settleFigures, weighTheSame } from '#core/cells/fleet-figures.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { type Judge, judgeUnits, judgeWholeFleet, unitsToJudge } from '#core/store/assessment.ts'
import { isCurrent, readBooks, readFigures, revisionNow } from '#core/store/books.ts'
import { readFleetCells } from '#core/store/cells.ts'
import { datedBetween } from '#core/store/dated.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { markBehind } from '#core/store/touched.ts'
import { learnFromRecord } from '#core/store/weigh-facts.ts'
import { weighBehind, weighWholeFleet } from '#core/store/weighings.ts'
import { dayOf } from '#core/words/day.ts'
import type { FleetWork } from '#core/words/touch.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { setImmediate } from 'node:timers/promises'

/** More units than this are left to the shared job in a thread. */
const fewUnits = 100
/** So many are judged in one transaction, while nobody else can write. */
const unitsAtOnce = 25

/** What the job that follows up a whole fleet is doing; share: of it, 0 to 1, null where it cannot be told. */
export type Follow = (work: FleetWork, share: number | null) => void

/**
 * Has the weights be of the day of a moment: what is dated between that day and the one that they were of counts by
 * now, or, where the clock was set back, no longer does, so what rests on it is behind. Judgements are made anew for
 * each day anyway.
 */
async function turnDay(store: Store, now: number): Promise<void> {
  const { weighedFor, zone } = await readBooks(store.db)
  const asOf = judgedAt(now, zone)
  if (weighedFor === asOf) return
  await store.db.transaction().execute(async (trx) => {
    const { revision, weighedFor: before } = await readBooks(trx)
    await markBehind(trx, { fleet: new Set(), judge: new Set(), ...(await datedBetween(trx, before, asOf)) }, revision)
    await trx
      .updateTable('books')
      .set({ weighed_for: toStoredInstant(asOf) })
      .execute()
  })
}

const behindNow = (since: number, ...works: readonly FleetWork[]) => works.map((what) => ({ what, since }))

/** Who helps to follow up a large fleet; this thread does alone what is left out. */
export interface Helpers {
  /** Does `learnAnew` of the same file elsewhere. */
  readonly learn?: (store: Store, now: number) => Promise<void>
  /** Judges the groups of a whole fleet. */
  readonly judge?: Judge
}

/**
 * Learns what the whole fleet teaches as of the end of a day, and keeps it. Everything is judged by it anew; weights
 * are only where the figures that they rest on have moved.
 */
export async function learnAnew(store: Store, now: number): Promise<void> {
  const { db, raw } = store
  // Before anything is read: what changes while it is read is learnt from once more.
  const revision = revisionNow(store)
  const rules = await readHouseRules(db)
  const asOf = judgedAt(now, rules.zone)
  const kept = await readFigures(db)
  const { everWeighed } = await readBooks(db)
  const learnt = raw.transaction(() => {
    const ofRecord = learnFromRecord(store, rules, asOf)
    const cellLaws = readFleetCells(store, rules, asOf, { heardUntil: ofRecord.heardUntil }).model.strata
    return { ...ofRecord, cellLaws } satisfies FleetFigures
  })()
  const figures = settleFigures(kept?.figures, learnt)
  const weighs = !everWeighed || !kept || !weighTheSame(kept.figures, figures)
  await db.transaction().execute(async (trx) => {
    const row = { learnt_at: toStoredInstant(now), figures: figuresToText(figures) }
    await trx
      .insertInto('fleet_figures')
      .values({ id: 1, ...row })
      .onConflict((conflict) => conflict.column('id').doUpdateSet(row))
      .execute()
    await trx.deleteFrom('behind_fleet').where('what', '=', 'learn').where('since', '<=', revision).execute()
    await trx
      .insertInto('behind_fleet')
      .values(behindNow(revision, 'judge', ...(weighs ? (['weigh'] as const) : [])))
      .onConflict((conflict) => conflict.doNothing())
      .execute()
  })
}

/** Whether the fleet's figures are to be learnt: never done, not on this day, or something came that all teach. */
async function isToLearn(store: Store, now: number): Promise<boolean> {
  const learnt = await readFigures(store.db)
  const { fleet, zone } = await readBooks(store.db)
  return !learnt || dayOf(learnt.learntAt, zone) !== dayOf(now, zone) || fleet.has('learn')
}

async function catchUpWholeFleet(store: Store, now: number, follow: Follow, { learn, judge }: Helpers): Promise<void> {
  if (await isToLearn(store, now)) {
    follow('learn', null)
    await (learn ?? learnAnew)(store, now)
  }
  const { fleet, judgedFor, everWeighed, zone } = await readBooks(store.db)
  const learnt = await readFigures(store.db)
  if (learnt && (fleet.has('judge') || judgedFor === null || dayOf(judgedFor, zone) !== dayOf(now, zone))) {
    follow('judge', 0)
    await judgeWholeFleet(store, learnt.figures, judgedAt(now, zone), (share) => follow('judge', share), judge)
  }
  if (fleet.has('weigh') || !everWeighed) {
    follow('weigh', 0)
    await weighWholeFleet(store, judgedAt(now, zone), (share) => follow('weigh', share))
  }
}

interface Some {
  /** Units and weighings touched since after this revision. */
  readonly after: number
  readonly follow: Follow
}

/**
 * Judges and weighs what changes have touched; while the fleet is behind as a whole, by what it taught last, and the
 * marks stay.
 */
async function catchUpUnits(store: Store, now: number, { after, follow }: Some): Promise<void> {
  const books = await readBooks(store.db)
  if (books.judgedFor === null) return
  const unitIds = unitsToJudge(store, after)
  // What was changed may be about no unit at all, and is judged by that.
  for (let from = 0; from < unitIds.length || (from === 0 && !books.linesCurrent); from += unitsAtOnce) {
    if (from > 0) {
      follow('judge', from / unitIds.length)
      // Between two stretches alone: a save of few units is not put off by all that others ask meanwhile.
      await setImmediate()
    }
    await judgeUnits(store, unitIds.slice(from, from + unitsAtOnce), judgedAt(now, books.zone))
  }
  if (!books.everWeighed) return
  const { unitsToWeigh, weighings, weightsCurrent } = await readBooks(store.db)
  if (unitsToWeigh > 0 || weighings > 0 || !weightsCurrent) await weighBehind(store, judgedAt(now, books.zone), after)
}

/** How many units were touched since after a revision. */
const countTouched = ({ db }: Store, after: number) =>
  db
    .selectFrom('behind_unit')
    .select(({ fn }) => fn.countAll<number>().as('units'))
    .where(({ or, eb }) => or([eb('judge_since', '>', after), eb('weigh_since', '>', after)]))
    .executeTakeFirstOrThrow()

/**
 * Right after a change that came in after a revision (left out: whatever is behind): judges and weighs the units that
 * it touched at once, as of now, where they are few, however far the rest of the fleet is behind. So who saved sees
 * what came of it; the rest waits for `catchUp`. Returns whether everything is current now.
 */
export async function catchUpTouched(store: Store, now: number, after = -1): Promise<boolean> {
  await turnDay(store, now)
  const { units } = await countTouched(store, after)
  if (units <= fewUnits) await catchUpUnits(store, now, { after, follow: () => {} })
  return isCurrent(store.db, now)
}

/** Rounds after which a record that changes all the time is left as it is; the next look goes on. */
const mostRounds = 5

/**
 * Brings everything that follows from the record up to it: the fleet's figures once a day and after an import, all
 * judgements and weights where a cause is about the whole fleet, those of the touched units otherwise. The one place
 * that does so. Takes seconds for a large fleet: run it off the window's thread. It holds the right to write for a
 * fraction of a second at a time. follow: is told what it does; where that throws, the work ends, and what is stored by
 * then is still marked as behind.
 */
export async function catchUp(
  store: Store,
  now: number,
  follow: Follow = () => {},
  helpers: Helpers = {},
): Promise<void> {
  for (let round = 0; round < mostRounds; round += 1) {
    await turnDay(store, now)
    await catchUpWholeFleet(store, now, follow, helpers)
    await catchUpUnits(store, now, { after: -1, follow })
    if (await isCurrent(store.db, now)) return
  }
}
