import { risingRoot } from '#core/cells/life-model.ts'
import type { CellInService } from '#core/cells/lives.ts'
import type { WeibullLaw } from '#core/cells/survival.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { laterBy, dayMs } from '#core/words/instant.ts'
import { at } from '#core/words/lists.ts'

/**
 * Gauss-Hermite points and weights for a standard normal variable (five and three points; Abramowitz and Stegun
 * 25.4.46, rescaled).
 */
const fivePoints = [
  [-2.856970013872806, 0.011257411327720691],
  [-1.355626179974266, 0.22207592200561266],
  [0, 0.5333333333333333],
  [1.355626179974266, 0.22207592200561266],
  [2.856970013872806, 0.011257411327720691],
] as const
const threePoints = [
  [-1.7320508075688772, 1 / 6],
  [0, 2 / 3],
  [1.7320508075688772, 1 / 6],
] as const

/** One of the laws that an uncertain one may be, with how likely it is; the weights add up to 1. */
export interface LawNode {
  readonly lifeDays: number
  readonly shape: number
  readonly weight: number
}

/**
 * An uncertain law as laws that may be true: 5 × 3 points of the normal distribution of (ln η, ln β), in one order for
 * every law, so that the same point of two laws is equally far out.
 */
export function lawNodes(law: WeibullLaw): LawNode[] {
  const sdLife = Math.sqrt(law.varLnLife)
  const lean = sdLife > 0 ? law.covLnLifeLnShape / sdLife : 0
  const sdShape = Math.sqrt(Math.max(0, law.varLnShape - lean * lean))
  return fivePoints.flatMap(([x, wx]) =>
    threePoints.map(([y, wy]) => ({
      lifeDays: law.lifeDays * Math.exp(sdLife * x),
      shape: law.shape * Math.exp(lean * x + sdShape * y),
      weight: wx * wy,
    })),
  )
}

/** What is left of one cell, seen from its law of life. Ages in days since it was put in, risks 0 to 1. */
export interface LifeOutlook {
  /** Chance that a cell alive at age `fromDays` is dead at age `toDays`; 0 when that is not later. */
  readonly risk: (fromDays: number, toDays: number) => number
  /** The greatest age before which a cell alive at age `fromDays` dies with no more than this chance (0 to below 1). */
  readonly ageAtRisk: (fromDays: number, risk: number) => number
  /** The same of a fresh cell; worked out once for each risk. */
  readonly freshAgeAtRisk: (risk: number) => number
  /** The age by which half of such cells have died. */
  readonly predictedLifeDays: number
}

/**
 * Risks under a law that is itself uncertain: each is the mean of the Weibull's conditional risk
 *   1 - S(t)/S(a) = 1 - exp((a/η)^β - (t/η)^β)
 * over the normal distribution of (ln η, ln β), by 5 × 3 point Gauss-Hermite quadrature. So a thin record gives an
 * earlier date than the best estimate alone would, and the difference fades as the record grows. A cell's own survival
 * so far is already in the record (as a censored life), so the distribution is not updated once more for it.
 *
 * Precision: ages to 1e-6 days; the quadrature to about 1e-3 of a risk where the life is known to within a half.
 * Errors: none; the law's variances must be 0 or more.
 */
export function lifeOutlook(law: WeibullLaw): LifeOutlook {
  const nodes = lawNodes(law)
  const risk = (fromDays: number, toDays: number): number => {
    if (toDays <= fromDays) return 0
    const from = Math.max(0, fromDays)
    let sum = 0
    for (const { lifeDays, shape, weight } of nodes)
      sum -= weight * Math.expm1((from / lifeDays) ** shape - (toDays / lifeDays) ** shape)
    return sum
  }
  const ageAtRisk = (fromDays: number, wanted: number): number => {
    const from = Math.max(0, fromDays)
    const hazard = -Math.log1p(-wanted)
    // The mean's quantile lies between the least and the greatest of the nodes'.
    let low = Number.POSITIVE_INFINITY
    let high = from
    const onFrom = nodes.map(({ lifeDays, shape, weight }) => ({
      lifeDays,
      shape,
      weight,
      spent: (from / lifeDays) ** shape,
    }))
    for (const { lifeDays, shape, spent } of onFrom) {
      const age = lifeDays * (spent + hazard) ** (1 / shape)
      if (age < low) low = age
      if (age > high) high = age
    }
    return risingRoot(
      (age) => {
        let value = -wanted
        let slope = 0
        for (const { lifeDays, shape, weight, spent } of onFrom) {
          const power = (age / lifeDays) ** shape
          const alive = weight * Math.exp(spent - power)
          value += weight - alive
          slope += (alive * shape * power) / age
        }
        return { value, slope }
      },
      Math.max(low, from),
      high,
      1e-6,
    )
  }
  const fresh = new Map<number, number>()
  const freshAgeAtRisk = (wanted: number): number => {
    const age = fresh.get(wanted) ?? ageAtRisk(0, wanted)
    fresh.set(wanted, age)
    return age
  }
  return { risk, ageAtRisk, freshAgeAtRisk, predictedLifeDays: freshAgeAtRisk(0.5) }
}

/**
 * due: the risk before the next visit is above the House Rules, or the predicted life ends before it. overdue: the
 * predicted life has passed. dead: its sensor has fallen silent, most likely for it.
 */
export const cellStates = ['fine', 'due', 'overdue', 'dead'] as const
export type CellState = (typeof cellStates)[number]

/** One cell in service on one day. Times ms UTC. */
export interface CellOutlook extends CellInService {
  readonly asOf: number
  readonly ageDays: number
  readonly state: CellState
  /**
   * Last moment before which this cell, alive today, dies with no more than the House Rules' risk; never later than
   * `latestAge`, never before today.
   */
  readonly swapByAt: number
  /** The same without regard to today: it may have passed. */
  readonly dueAt: number
  /** The age by which half of such cells have died. */
  readonly predictedLifeDays: number
  /** When it reaches that; of a dead one, when it died. */
  readonly predictedEndAt: number
  readonly nextVisitAt: number
  /** No visit is planned: the House Rules' interval from today stands in. */
  readonly visitAssumed: boolean
  /** Chance, 0 to 1, that this cell, alive today, is dead by the next visit; 1 of one that is counted as dead. */
  readonly riskBeforeVisit: number
}

/** Its day to swap has come: lists and sheets say 'now' of it. */
export const isToSwapNow = ({ swapByAt, asOf }: Pick<CellOutlook, 'swapByAt' | 'asOf'>): boolean => swapByAt <= asOf

/** A cell watched from new is swapped with at most so many times the House Rules' share of its kind dead. */
const latestAge = 1.5

/**
 * What is to be done about a cell in service.
 *
 * The risk is always that of a cell known to be alive today: 1 - S(then)/S(today). For a fresh cell the swap-by date is
 * the age at which House Rules' share of all such cells has died (0.47 η at shape 3 and 10 %). A cell that has
 * grown older gets a later date than it had when fresh, since it has outlived the risk of the days behind it. Asked
 * anew each day, that date alone would recede with each day survived and come only when half have died; so it ends at
 * the age by which
 * 1.5 times that share of fresh cells has died (0.55 η), and an older cell is to be swapped today. So both
 * readings of the rule hold: 10 % for a cell alive today, and never more than 15 % for one followed from new.
 * A cell is `due` when waiting for the next visit would risk more than the House Rules, or outlast the predicted
 * life; `overdue` once the predicted life has passed. Overdue cells are due as well; the stronger word is given. A cell
 * that is counted as dead has been due since it died.
 *
 * nextVisitAt: the unit's next planned visit, later than asOf, or null.
 */
export function cellOutlook(
  cell: CellInService,
  outlook: LifeOutlook,
  rules: HouseRules,
  asOf: number,
  nextVisitAt: number | null,
): CellOutlook {
  const ageDays = (asOf - cell.installedAt) / dayMs
  const allowed = rules.batteryRiskPercent / 100
  const predictedEndAt = laterBy(cell.installedAt, outlook.predictedLifeDays)
  const overdue = ageDays >= outlook.predictedLifeDays
  const visitAt = nextVisitAt ?? laterBy(asOf, rules.visitIntervalDays)
  const { predictedLifeDays } = outlook
  const visit = { nextVisitAt: visitAt, visitAssumed: nextVisitAt === null, predictedLifeDays }
  if (cell.deadSince !== null) {
    const { deadSince } = cell
    const dead = { predictedEndAt: deadSince, dueAt: deadSince, swapByAt: asOf, riskBeforeVisit: 1 }
    return { ...cell, asOf, ageDays, ...dead, ...visit, state: 'dead' }
  }
  const riskBeforeVisit = outlook.risk(ageDays, (visitAt - cell.installedAt) / dayMs)
  const latest = outlook.freshAgeAtRisk(Math.min(latestAge * allowed, 0.5))
  const dueAt = laterBy(
    cell.installedAt,
    ageDays < latest ? Math.min(outlook.ageAtRisk(ageDays, allowed), latest) : latest,
  )
  const due = riskBeforeVisit > allowed || predictedEndAt < visitAt
  return {
    ...cell,
    asOf,
    ageDays,
    predictedEndAt,
    dueAt,
    swapByAt: Math.max(asOf, dueAt),
    ...visit,
    riskBeforeVisit,
    state: overdue ? 'overdue' : due ? 'due' : 'fine',
  }
}

const daysPerYear = 365.25

/** What one sensor costs a year under a rule that swaps each cell at a fixed age, or when it dies before. */
export interface YearlyCost {
  /** Age in days at which a cell is swapped. */
  readonly swapAgeDays: number
  readonly cells: number
  /** Of these, those that died on the road: visits nobody planned. */
  readonly deaths: number
}

/**
 * Cells and deaths a sensor-year, by the renewal theorem: a cell stays E[min(T, s)] = ∫₀ˢ S(t) dt days and dies with
 * chance F(s), so a year takes 365.25 / E cells and F(s) times as many deaths. s is the age at which the risk of a
 * fresh cell reaches `risk` (0 to below 1). The integral by Simpson's rule on 64 parts.
 *
 * Source: age replacement, Barlow and Proschan, Mathematical Theory of Reliability (from memory).
 */
export function yearlyCost(outlook: LifeOutlook, risk: number): YearlyCost {
  const swapAgeDays = outlook.ageAtRisk(0, risk)
  const parts = 64
  let sum = 0
  for (let i = 0; i <= parts; i += 1)
    sum += (i === 0 || i === parts ? 1 : i % 2 === 1 ? 4 : 2) * (1 - outlook.risk(0, (swapAgeDays * i) / parts))
  const stays = (sum * swapAgeDays) / parts / 3
  const cells = daysPerYear / stays
  return { swapAgeDays, cells, deaths: cells * outlook.risk(0, swapAgeDays) }
}

/** A job for one bench: how many of its minutes it takes, and the bench minute by which it must be done. */
export interface Job {
  readonly minutes: number
  readonly deadline: number
}

/** A job with its number. */
interface Numbered extends Job {
  readonly job: number
}

/** A heap of jobs with the longest on top; of two equally long ones the later deadline. */
class Longest {
  readonly #heap: Numbered[] = []

  /** Whether the job at one place belongs above that at another. */
  #above(i: number, j: number): boolean {
    const [p, q] = [at(this.#heap, i), at(this.#heap, j)]
    return p.minutes > q.minutes || (p.minutes === q.minutes && p.job > q.job)
  }

  push(job: Numbered): void {
    this.#heap.push(job)
    for (let i = this.#heap.length - 1; i > 0; ) {
      const parent = (i - 1) >> 1
      if (!this.#above(i, parent)) return
      this.#swap(i, parent)
      i = parent
    }
  }

  pop(): Numbered {
    const heap = this.#heap
    this.#swap(0, heap.length - 1)
    const top = at(heap, heap.length - 1)
    heap.length -= 1
    for (let i = 0; ; ) {
      let child = 2 * i + 1
      if (child + 1 < heap.length && this.#above(child + 1, child)) child += 1
      if (child >= heap.length || !this.#above(child, i)) return top
      this.#swap(i, child)
      i = child
    }
  }

  #swap(i: number, j: number): void {
    const kept = at(this.#heap, i)
    this.#heap[i] = at(this.#heap, j)
    this.#heap[j] = kept
  }
}

/**
 * The order in which one bench does its jobs (numbers into `jobs`, which come by rising deadline) so that as few as
 * possible are late: none, whenever any order gets all done in time.
 *
 * Jobs on time: by deadline, dropping the longest whenever one would be late (Moore's algorithm with Hodgson's rule:
 * the least number of late jobs on one machine, all available from the start). With nothing to drop this is earliest
 * due date first (Jackson's rule), which meets all deadlines if any order does. The late ones are put in, by deadline,
 * as early as the others' slack allows.
 *
 * minutes more than 0, deadlines in the same bench minutes, below 0 or 0: cannot be met. O(n log n).
 * Source: Moore, Management Science 15 (1968) 102; Jackson (1955), as in Pinedo, Scheduling (from memory).
 */
export function fewestLate(jobs: readonly Job[]): { order: number[]; late: ReadonlySet<number> } {
  const late = new Set<number>()
  const kept = new Longest()
  let total = 0
  const numbered = jobs.map(({ minutes, deadline }, job): Numbered => ({ job, minutes, deadline }))
  for (const each of numbered) {
    kept.push(each)
    total += each.minutes
    if (total > each.deadline) {
      const dropped = kept.pop()
      late.add(dropped.job)
      total -= dropped.minutes
    }
  }

  // How much may be put in front of each without making it or any after it late.
  let done = total
  let least = Number.POSITIVE_INFINITY
  const inTime = numbered
    .filter(({ job }) => !late.has(job))
    .reverse()
    .map(({ job, minutes, deadline }) => {
      least = Math.min(least, deadline - done)
      done -= minutes
      return { job, slack: least }
    })
    .reverse()
  const waiting = numbered.filter(({ job }) => late.has(job))
  const order: number[] = []
  let next = 0
  let inserted = 0
  for (const { job, slack } of inTime) {
    for (let due = waiting[next]; due && inserted + due.minutes <= slack; due = waiting[next]) {
      order.push(due.job)
      inserted += due.minutes
      next += 1
    }
    order.push(job)
  }
  return { order: [...order, ...waiting.slice(next).map(({ job }) => job)], late }
}
