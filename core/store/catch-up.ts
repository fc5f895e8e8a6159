import { type FleetFigures, figuresToText, settleFigures, weighTheSame } from '#core/cells/fleet-figures.ts'
import { judgeUnits, judgeWholeFleet, judgedAt, unitsToJudge } from '#core/store/assessment.ts'
import { areJudgementsOf, readBooks, readFigures, revisionNow } from '#core/store/books.ts'
import { readFleetCells } from '#core/store/cells.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { learnFromRecord } from '#core/store/weigh-facts.ts'
import { weighBehind, weighWholeFleet } from '#core/store/weighings.ts'
import { dayOf } from '#core/words/day.ts'
import type { FleetWork } from '#core/words/touch.ts'
import { toStoredInstant } from '#core/words/instant.ts'

/** More units than this are left to the shared job in a thread. */
const fewUnits = 100

const behindNow = (since: number, ...works: readonly FleetWork[]) => works.map((what) => ({ what, since }))

/**
 * Learns what the whole fleet teaches as of the end of a day, and keeps it. Everything is judged by it anew; weights
 * are only where the figures that they rest on have moved.
 */
async function learnAnew(store: Store, now: number): Promise<void> {
  const { db, raw } = store
  const rules = await readHouseRules(db)
  const asOf = judgedAt(now, rules.zone)
  const kept = await readFigures(db)
  const { everWeighed } = await readBooks(db)
  const { revision, learnt } = raw.transaction(() => {
    const ofRecord = learnFromRecord(store, rules, asOf)
    const cellLaws = readFleetCells(store, rules, asOf, { heardUntil: ofRecord.heardUntil }).model.strata
    return { revision: revisionNow(store), learnt: { ...ofRecord, cellLaws } satisfies FleetFigures }
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

/**
 * Whether only the whole fleet can be brought up to date: it never was, not on this day, or a cause is about all of it.
 */
export async function isWholeFleetBehind(store: Store, now: number): Promise<boolean> {
  const books = await readBooks(store.db)
  return (
    books.fleet.size > 0 ||
    !books.everWeighed ||
    books.judgedFor === null ||
    dayOf(books.judgedFor, books.zone) !== dayOf(now, books.zone) ||
    (await isToLearn(store, now))
  )
}

async function catchUpWholeFleet(store: Store, now: number, step: (work: FleetWork) => void): Promise<void> {
  if (await isToLearn(store, now)) {
    step('learn')
    await learnAnew(store, now)
  }
  const { fleet, judgedFor, everWeighed, zone } = await readBooks(store.db)
  const learnt = await readFigures(store.db)
  if (learnt && (fleet.has('judge') || judgedFor === null || dayOf(judgedFor, zone) !== dayOf(now, zone))) {
    step('judge')
    await judgeWholeFleet(store, learnt.figures, judgedAt(now, zone))
  }
  if (fleet.has('weigh') || !everWeighed) {
    step('weigh')
    await weighWholeFleet(store)
  }
}

/** Judges and weighs the units that changes have touched; the marks of a fleet that is behind as a whole stay. */
async function catchUpUnits(store: Store, now: number): Promise<void> {
  const learnt = await readFigures(store.db)
  const books = await readBooks(store.db)
  if (!learnt || books.judgedFor === null) return
  if (!books.linesCurrent) await judgeUnits(store, unitsToJudge(store), learnt.figures, judgedAt(now, books.zone))
  if (books.everWeighed && !books.weightsCurrent && !books.fleet.has('learn') && !books.fleet.has('weigh'))
    await weighBehind(store)
}

/**
 * Right after a change: brings the units that it touched up to date at once, where they are few, so that who saved sees
 * what came of it. What is about the whole fleet waits for `catchUp`. Returns whether everything is current now.
 */
export async function catchUpTouched(store: Store, now: number): Promise<boolean> {
  const { unitsToJudge: judge, unitsToWeigh: weigh } = await readBooks(store.db)
  if (judge <= fewUnits && weigh <= fewUnits) await catchUpUnits(store, now)
  const books = await readBooks(store.db)
  return areJudgementsOf(books, now) && books.weightsCurrent
}

/** Rounds after which a record that changes all the time is left as it is; the next look goes on. */
const mostRounds = 5

/**
 * Brings everything that follows from the record up to it: the fleet's figures once a day and after an import, all
 * judgements and weights where a cause is about the whole fleet, those of the touched units otherwise. The one place
 * that does so. Takes seconds for a large fleet: run it off the window's thread. step: is told what begins.
 */
export async function catchUp(store: Store, now: number, step: (work: FleetWork) => void = () => {}): Promise<void> {
  for (let round = 0; round < mostRounds; round += 1) {
    await catchUpWholeFleet(store, now, step)
    await catchUpUnits(store, now)
    const books = await readBooks(store.db)
    if (areJudgementsOf(books, now) && books.weightsCurrent) return
  }
}
