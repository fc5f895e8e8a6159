import { isDeepStrictEqual } from 'node:util'
import { type FleetFigures, figuresFromText } from '#core/cells/fleet-figures.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { readZone } from '#core/store/zone.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { isAnythingDated } from '#core/store/dated.ts'
import { dayOf } from '#core/words/day.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import type { FleetWork } from '#core/words/touch.ts'

/** How far what follows from the record is up to it: the one place that says what is current. */
export interface Books {
  /** The ledger's revision as these books were read. */
  readonly revision: number
  /** In which the fleet counts its days. */
  readonly zone: string
  /** The moment that the stored judgements are of, ms UTC; null: the fleet was never judged. */
  readonly judgedFor: number | null
  /** Whether every judgement is that of the record as it stands, on the day of `judgedFor`. */
  readonly linesCurrent: boolean
  /** The moment up to which evidence counts in the stored weights, ms UTC. */
  readonly weighedFor: number
  /** Whether every weight is that of the record as it stands, at `weighedFor`; false also while none was ever made. */
  readonly weightsCurrent: boolean
  readonly everWeighed: boolean
  /** Revisions of the newest change that lines and cells follow from. */
  readonly linesRevision: number
  readonly cellsRevision: number
  /** How often judgements were stored. */
  readonly renewals: number
  /** What the whole fleet is behind in. */
  readonly fleet: ReadonlySet<FleetWork>
  /** How many units and single weighings are behind. */
  readonly unitsToJudge: number
  readonly unitsToWeigh: number
  readonly weighings: number
}

export async function readBooks(db: Reader): Promise<Books> {
  const row = await db
    .selectFrom(['books as b', 'ledger as l'])
    .select((eb) => [
      'l.revision',
      'l.lines_revision',
      'l.cells_revision',
      'l.weights_revision',
      'b.judged_for',
      'b.judged_revision',
      'b.weighed_revision',
      'b.weighed_for',
      'b.renewals',
      eb
        .selectFrom('behind_unit')
        .select(({ fn }) => fn.count<number>('judge_since').as('n'))
        .as('judge'),
      eb
        .selectFrom('behind_unit')
        .select(({ fn }) => fn.count<number>('weigh_since').as('n'))
        .as('weigh'),
      eb
        .selectFrom('behind_weighing')
        .select(({ fn }) => fn.countAll<number>().as('n'))
        .as('weighings'),
    ])
    .executeTakeFirstOrThrow()
  const fleet = new Set((await db.selectFrom('behind_fleet').select('what').execute()).map(({ what }) => what))
  const [unitsToJudge, unitsToWeigh, weighings] = [row.judge ?? 0, row.weigh ?? 0, row.weighings ?? 0]
  return {
    revision: row.revision,
    zone: await readZone(db),
    judgedFor: row.judged_for === null ? null : fromStoredInstant(row.judged_for),
    linesCurrent:
      !fleet.has('learn') &&
      !fleet.has('judge') &&
      unitsToJudge === 0 &&
      row.judged_revision >= Math.max(row.lines_revision, row.cells_revision),
    weighedFor: fromStoredInstant(row.weighed_for),
    weightsCurrent:
      !fleet.has('learn') &&
      !fleet.has('weigh') &&
      unitsToWeigh === 0 &&
      weighings === 0 &&
      row.weighed_revision >= row.weights_revision,
    everWeighed: row.weighed_revision >= 0,
    linesRevision: row.lines_revision,
    cellsRevision: row.cells_revision,
    renewals: row.renewals,
    fleet,
    unitsToJudge,
    unitsToWeigh,
    weighings,
  }
}

/** Whether the judgements are of the day of a moment (ms UTC), and of the record as it stands. */
export const areJudgementsOf = ({ judgedFor, linesCurrent, zone }: Books, now: number): boolean =>
  linesCurrent && judgedFor !== null && dayOf(judgedFor, zone) === dayOf(now, zone)

/**
 * Whether the weights are those of the day of a moment (ms UTC), and of the record as it stands: made for it, or for
 * another that no evidence lies between.
 */
export async function areWeightsOf(db: Reader, { weightsCurrent, weighedFor, zone }: Books, now: number) {
  const asOf = judgedAt(now, zone)
  return weightsCurrent && (weighedFor === asOf || !(await isAnythingDated(db, weighedFor, asOf)))
}

/** Whether the judgements or weights as a whole are of a moment (ms UTC), as read within the caller's transaction. */
export const areBookedFor = ({ db, raw }: Store, what: 'judged_for' | 'weighed_for', asOf: number): boolean =>
  raw.prepare(db.selectFrom('books').select(what).compile().sql).pluck().get() === toStoredInstant(asOf)

/** Whether everything that follows from the record is up to it, on the day of a moment (ms UTC). */
export async function isCurrent(db: Reader, now: number): Promise<boolean> {
  const books = await readBooks(db)
  return areJudgementsOf(books, now) && (await areWeightsOf(db, books, now))
}

/** What the fleet taught, and when it was learnt (ms UTC); undefined before the first time. */
export async function readFigures(db: Reader): Promise<{ learntAt: number; figures: FleetFigures } | undefined> {
  const row = await db.selectFrom('fleet_figures').select(['learnt_at', 'figures']).executeTakeFirst()
  return row && { learntAt: fromStoredInstant(row.learnt_at), figures: figuresFromText(row.figures) }
}

/** Whether the whole fleet is behind in a kind of work. */
export const isFleetBehind = async (db: Reader, work: FleetWork): Promise<boolean> =>
  (await db.selectFrom('behind_fleet').select('what').where('what', '=', work).executeTakeFirst()) !== undefined

/** What the fleet taught on the day of a moment (ms UTC), where that is still what the record says. */
export async function readFiguresOfDay(db: Reader, at: number): Promise<FleetFigures | undefined> {
  const learnt = await readFigures(db)
  const zone = await readZone(db)
  if (!learnt || dayOf(learnt.learntAt, zone) !== dayOf(at, zone)) return undefined
  return (await isFleetBehind(db, 'learn')) ? undefined : learnt.figures
}

/** The same as the text that `figuresToText` wrote, for a window that reads it itself. */
export const readFiguresText = async (db: Reader): Promise<string | undefined> =>
  (await db.selectFrom('fleet_figures').select('figures').executeTakeFirst())?.figures

/** What the fleet taught, read within the caller's transaction; undefined before the first time. */
export function figuresNow({ db, raw }: Store): FleetFigures | undefined {
  const text = raw.prepare(db.selectFrom('fleet_figures').select('figures').compile().sql).pluck().get()
  return text === undefined ? undefined : figuresFromText(text as string)
}

/**
 * Whether the fleet still teaches what a work was begun with, within the caller's transaction. No revision tells: what
 * is learnt anew is no change of the record.
 */
export function isStillTaught(store: Store, begunWith: Partial<FleetFigures>): boolean {
  const now = figuresNow(store)
  return (
    now === undefined ||
    Object.entries(begunWith).every(([name, figure]) => isDeepStrictEqual(now[name as keyof FleetFigures], figure))
  )
}

/** The ledger's revision, read within the caller's transaction. */
export const revisionNow = ({ db, raw }: Store): number =>
  raw.prepare(db.selectFrom('ledger').select('revision').compile().sql).pluck().get() as number

/**
 * Notes, before a work on the whole fleet begins, that the fleet is behind in it, so that whoever touches a unit
 * meanwhile leaves its mark on it; answers the revision that the work begins at.
 */
export function markWholeFleet(store: Store, what: FleetWork): number {
  const { db, raw } = store
  return raw
    .transaction(() => {
      const since = revisionNow(store)
      const { sql, parameters } = db
        .insertInto('behind_fleet')
        .values({ what, since })
        .onConflict((conflict) => conflict.doNothing())
        .compile()
      raw.prepare(sql).run(...parameters)
      return since
    })
    .immediate()
}
