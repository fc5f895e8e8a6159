import type { CellCosts } from '#core/cells/cell-costs.ts'
import type { LifeModel, StratumLaw } from '#core/cells/life-model.ts'
import { type LifeOutlook, lifeOutlook } from '#core/cells/outlook.ts'
import { dayOf, monthOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { dayMs } from '#core/words/instant.ts'
import { type BatteryReason, batteryReasons } from '#core/words/vocabulary.ts'

/** A cell change as recorded; `reason` says why the cell that came out came out (or that the sensor was new). */
export interface CellChangeFacts {
  /** ms UTC. */
  readonly changedAt: number
  /** A word of `batteryReasons`; anything else, or null, is unknown. */
  readonly reason: string | null
  readonly cell: string | null
  /** Of a swap that says dead: since when the sensor had been silent by then, ms UTC; null where it had not. */
  readonly silentBefore?: number | null
}

/** Where a sensor sat, ms UTC; `removedAt` null: still there. */
export interface SensorMountFacts {
  readonly mountedAt: number
  readonly removedAt: number | null
}

/** What is recorded about one sensor's cells, in any order. */
export interface CellHistory {
  readonly serial: string
  /** The cell type the sensor takes, where a change does not name its own. */
  readonly cell: string | null
  readonly reportEveryS: number | null
  readonly mounts: readonly SensorMountFacts[]
  readonly changes: readonly CellChangeFacts[]
  /**
   * Since when the sensor has been silent where it sits, by `silenceOf`, ms UTC; null, or left out, while it is not.
   */
  readonly silentSince?: number | null
}

/** How a cell's time in a sensor ended, or that it has not. */
export type LifeEnd = BatteryReason | 'silent' | 'unknown' | 'removed' | 'in service'

/**
 * One cell's time in one sensor. Only `endedBy` dead or silent is a death; everything else is a life cut short by
 * watching (censored).
 */
export interface CellLife {
  readonly serial: string
  readonly cell: string | null
  readonly reportEveryS: number | null
  /** ms UTC. */
  readonly installedAt: number
  /** Nothing recorded: a fresh cell at the first mount is assumed. */
  readonly installAssumed: boolean
  /** ms UTC; the as-of time for a cell in service. */
  readonly endedAt: number
  /** endedAt - installedAt in days, more than 0. */
  readonly days: number
  readonly died: boolean
  readonly endedBy: LifeEnd
}

/** The cell that sits in a mounted sensor at the as-of time. */
export interface CellInService {
  readonly serial: string
  readonly cell: string | null
  readonly reportEveryS: number | null
  readonly installedAt: number
  readonly installAssumed: boolean
  /** About when it died, ms UTC: since then its sensor has been silent; null while it is thought to be alive. */
  readonly deadSince: number | null
}

export type HistoryIssueCode =
  | 'two-cells-at-once'
  | 'changed-before-mounted'
  | 'same-time-twice'
  | 'unknown-reason'
  | 'mounts-overlap'
  | 'removed-before-mounted'

/** Records of a sensor that contradict each other; the lives are still derived, as the message says. */
export interface HistoryIssue {
  readonly code: HistoryIssueCode
  readonly serial: string
  /** ms UTC. */
  readonly at: number
  readonly message: string
}

export interface SensorLives {
  readonly lives: readonly CellLife[]
  /** null: the sensor is not mounted at the as-of time. */
  readonly inService: CellInService | null
  readonly issues: readonly HistoryIssue[]
}

const isReason = (reason: string | null): reason is BatteryReason =>
  (batteryReasons as readonly (string | null)[]).includes(reason)

/**
 * Of two changes at one time the one that says more counts, whatever their order: a death first, then a known reason,
 * then a named cell.
 */
const telling = ['dead', 'low', 'scheduled', 'new']
function moreTelling(one: CellChangeFacts, other: CellChangeFacts): number {
  const rank = ({ reason }: CellChangeFacts) => (isReason(reason) ? telling.indexOf(reason) : telling.length)
  return (
    rank(one) - rank(other) ||
    (one.cell === null ? 1 : 0) - (other.cell === null ? 1 : 0) ||
    (one.cell ?? '').localeCompare(other.cell ?? '')
  )
}

/**
 * The lives of one sensor's cells up to `asOf` (ms UTC); later records are not looked at. zone: the fleet's, in whose
 * days the issues speak.
 *
 * A cell is installed at a change, or at the first mount where the record starts with a change that took an older cell
 * out, or has no change at all (`installAssumed`). The next change's reason says how it ended: `dead` is a death, where
 * the sensor had fallen silent before the swap at that silence, else at the swap (the cell died at or shortly before
 * it, so such lives are a little long); `scheduled`, `low`, `new` and unknown reasons censor it. The last cell is
 * censored at `asOf`, or at the last removal when the sensor is no longer mounted; where the sensor fell silent with
 * it, on the circuit where it sits, it counts as dead since then. Time on the shelf counts: the cell drains there too,
 * and the record cannot tell otherwise.
 *
 * Contradictions come back as issues, never as errors: two changes at one time (one counts), `new` while a cell was in
 * (the earlier one is censored), a change more than a day before the first mount (counted from the change), an unknown
 * reason (censored), mounts that overlap or end before they start.
 */
export function cellLives(history: CellHistory, asOf: number, zone: string): SensorLives {
  const { serial, reportEveryS } = history
  const issues: HistoryIssue[] = []
  const report = (code: HistoryIssueCode, at: number, message: string) =>
    issues.push({ code, serial, at, message: `Sensor ${serial}: ${message}` })

  const mounts = history.mounts.filter(({ mountedAt }) => mountedAt <= asOf).sort((p, q) => p.mountedAt - q.mountedAt)
  let heldUntil = Number.NEGATIVE_INFINITY
  for (const { mountedAt, removedAt } of mounts) {
    if (mountedAt < heldUntil)
      report('mounts-overlap', mountedAt, `mounted on ${dayOf(mountedAt, zone)} while it was still mounted elsewhere.`)
    if (removedAt !== null && removedAt < mountedAt)
      report(
        'removed-before-mounted',
        mountedAt,
        `removed on ${dayOf(removedAt, zone)}, before it was mounted on ${dayOf(mountedAt, zone)}.`,
      )
    heldUntil = Math.max(heldUntil, removedAt ?? Number.POSITIVE_INFINITY)
  }
  const firstMount = mounts[0]?.mountedAt

  const changes: CellChangeFacts[] = []
  for (const change of history.changes
    .filter(({ changedAt }) => changedAt <= asOf)
    .sort((p, q) => p.changedAt - q.changedAt || moreTelling(p, q))) {
    const { changedAt, reason } = change
    if (changes.at(-1)?.changedAt === changedAt) {
      report(
        'same-time-twice',
        changedAt,
        `two cell changes are recorded at the same time on ${dayOf(changedAt, zone)}; one of them counts.`,
      )
      continue
    }
    if (!isReason(reason))
      report(
        'unknown-reason',
        changedAt,
        `the cell change on ${dayOf(changedAt, zone)} has ` +
          `${reason === null ? 'no reason' : `the unknown reason “${reason}”`}; ` +
          'whether the old cell was dead is unknown.',
      )
    if (firstMount === undefined || changedAt < firstMount - dayMs) {
      report(
        'changed-before-mounted',
        changedAt,
        `a cell change is recorded on ${dayOf(changedAt, zone)}, ${
          firstMount === undefined
            ? 'but the sensor was never mounted'
            : `before the sensor was first mounted on ${dayOf(firstMount, zone)}`
        }.`,
      )
    }
    if (reason === 'new' && changes.length > 0) {
      report(
        'two-cells-at-once',
        changedAt,
        `a first cell is recorded on ${dayOf(changedAt, zone)} although another was already in; ` +
          'the older one counts as taken out that day, not as dead.',
      )
    }
    changes.push(change)
  }

  const starts: { at: number; cell: string | null; assumed: boolean }[] = changes.map(({ changedAt, cell }) => ({
    at: changedAt,
    cell: cell ?? history.cell,
    assumed: false,
  }))
  const firstChange = changes[0]
  if (
    firstMount !== undefined &&
    (firstChange === undefined || (firstChange.reason !== 'new' && firstChange.changedAt > firstMount))
  ) {
    starts.unshift({ at: firstMount, cell: history.cell, assumed: true })
  }

  const mounted = heldUntil > asOf && mounts.length > 0
  const last = starts.at(-1)
  // Silent from before a swap, or never heard of since the mounting: then it is not this cell that went dead.
  const heardSince = Math.max(last?.at ?? 0, mounts.at(-1)?.mountedAt ?? 0)
  const { silentSince = null } = history
  const deadSince = mounted && silentSince !== null && silentSince > heardSince ? silentSince : null
  const lives: CellLife[] = []
  for (let i = 0; i < starts.length; i += 1) {
    const { at, cell, assumed } = starts[i] as (typeof starts)[number]
    const next = starts[i + 1]
    // Every start but an assumed first one is a change, so the change that ends this life is found from the back.
    const ending = next === undefined ? undefined : changes[changes.length - (starts.length - 1 - i)]
    const silentAt = ending?.reason === 'dead' ? (ending.silentBefore ?? null) : null
    const diedAt = silentAt !== null && silentAt > at ? silentAt : undefined
    const endedAt = diedAt ?? next?.at ?? deadSince ?? (mounted ? asOf : Math.max(at, Math.min(heldUntil, asOf)))
    const whereNow: LifeEnd = deadSince !== null ? 'silent' : mounted ? 'in service' : 'removed'
    const endedBy: LifeEnd = ending === undefined ? whereNow : isReason(ending.reason) ? ending.reason : 'unknown'
    if (endedAt <= at) continue
    lives.push({
      serial,
      cell,
      reportEveryS,
      installedAt: at,
      installAssumed: assumed,
      endedAt,
      days: (endedAt - at) / dayMs,
      died: endedBy === 'dead' || endedBy === 'silent',
      endedBy,
    })
  }
  const inService =
    mounted && last !== undefined
      ? { serial, cell: last.cell, reportEveryS, installedAt: last.at, installAssumed: last.assumed, deadSince }
      : null
  return { lives, inService, issues }
}

/** What swapping cost and what it spared in one month of the fleet's days. */
export interface SwapMonth {
  /** YYYY-MM. */
  readonly month: string
  /** Cells taken out alive: scheduled, low, new or unknown. */
  readonly swaps: number
  /** Deaths suffered. */
  readonly deaths: number
  /** Expected number of the swapped cells that would have died had they stayed for one more visit interval. */
  readonly deathsAvoided: number
  /**
   * What the cells put in cost with their bench time, and the deaths beside that; what the deaths avoided would have.
   */
  readonly dollars: number
  readonly dollarsSpared: number
}

/**
 * Swaps made, deaths suffered and deaths avoided by month, oldest first; months without either are left out. A cell
 * swapped alive at age a would have died before the next visit with chance 1 - S(a + v)/S(a), v the House Rules' visit
 * interval.
 */
export function swapsByMonth(
  lives: readonly CellLife[],
  model: LifeModel,
  { priceOf, swapDollars, deathDollars }: CellCosts,
  rules: HouseRules,
): SwapMonth[] {
  const outlooks = new Map<StratumLaw, LifeOutlook>()
  const months = new Map<string, { swaps: number; deaths: number; deathsAvoided: number; dollars: number }>()
  for (const life of lives) {
    if (life.endedBy === 'in service' || life.endedBy === 'removed') continue
    const month = monthOf(dayOf(life.endedAt, rules.zone))
    const sum = months.get(month) ?? { swaps: 0, deaths: 0, deathsAvoided: 0, dollars: 0 }
    months.set(month, sum)
    // One that fell silent has not been replaced yet.
    if (life.endedBy !== 'silent') sum.dollars += priceOf(life.cell) + swapDollars
    if (life.died) {
      sum.deaths += 1
      sum.dollars += deathDollars
      continue
    }
    sum.swaps += 1
    const law = model.lawFor(life)
    if (law === undefined) continue
    const outlook = outlooks.get(law) ?? lifeOutlook(law)
    outlooks.set(law, outlook)
    sum.deathsAvoided += outlook.risk(life.days, life.days + rules.visitIntervalDays)
  }
  return [...months]
    .sort(([p], [q]) => (p < q ? -1 : 1))
    .map(([month, sum]) => ({ month, ...sum, dollarsSpared: sum.deathsAvoided * deathDollars }))
}
