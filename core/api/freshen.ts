import { assessInThread, weighInThread } from '#core/jobs/in-thread.ts'
import { readAssessmentState, reassessUnits } from '#core/store/assessment.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { readWeighingState } from '#core/store/weighing-state.ts'
import { areWeighingsCurrent } from '#core/store/weighings.ts'
import { readZone } from '#core/store/zone.ts'
import { dayOf } from '#core/words/day.ts'

/** Judgements under way, by file: windows that ask at the same time wait for one and the same. */
const underWay = new Map<string, Promise<void>>()

function assessOnce(file: string, asOf: number): Promise<void> {
  const running = underWay.get(file)
  if (running) return running
  const started = assessInThread(file, asOf).finally(() => underWay.delete(file))
  underWay.set(file, started)
  return started
}

async function isSameDay(db: Reader, one: number, other: number): Promise<boolean> {
  const zone = await readZone(db)
  return dayOf(one, zone) === dayOf(other, zone)
}

/**
 * When the stored assessment is of (ms UTC). One of an earlier day, or of a record that has changed since, is made anew
 * in a thread meanwhile, and the screens ask again once it is there; only a file that was never judged is waited for.
 */
export async function freshAssessment(
  { db, file }: Store,
  now: number,
  report: (error: unknown) => void,
): Promise<number> {
  const state = await readAssessmentState(db)
  if (state?.current === true && (await isSameDay(db, state.asOf, now))) return state.asOf
  const assessing = assessOnce(file, now)
  if (state) {
    assessing.catch(report)
    return state.asOf
  }
  await assessing
  return now
}

/** Files whose record is being weighed: windows that ask at the same time wait for one and the same. */
const weighingsUnderWay = new Map<string, Promise<void>>()

function weighOnce(file: string): Promise<void> {
  const running = weighingsUnderWay.get(file)
  if (running) return running
  const started = weighInThread(file).finally(() => weighingsUnderWay.delete(file))
  weighingsUnderWay.set(file, started)
  return started
}

/**
 * Whether the stored weights are those of the record. Where it has changed since they are made anew in a thread
 * meanwhile, and the screens ask again; only a record that was never weighed is waited for.
 */
export async function freshWeighings(store: Store, report: (error: unknown) => void): Promise<boolean> {
  if (await areWeighingsCurrent(store)) return true
  const weighing = weighOnce(store.file)
  if (await readWeighingState(store.db)) {
    weighing.catch(report)
    return false
  }
  await weighing
  return areWeighingsCurrent(store)
}

/** More units than this are judged with the whole fleet, in a thread. */
const fewUnits = 100

/**
 * Judges the units that a change touched; the whole fleet where they are many, or the stored judgement is from before
 * the change.
 */
export async function judgeAgain(
  store: Store,
  unitIds: readonly number[],
  changedAt: number,
  now: number,
): Promise<void> {
  const state = await readAssessmentState(store.db)
  if (state === undefined) return
  if (unitIds.length > fewUnits || state.asOf < changedAt) await assessInThread(store.file, now)
  else if (unitIds.length > 0) await reassessUnits(store, unitIds)
}
