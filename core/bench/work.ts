import { type BenchPlan, planBench } from '#core/bench/plan.ts'
import { type DayNumber, type PlannedVisit, type WorkItem, gatherVisits } from '#core/bench/visits.ts'
import type { Benches } from '#core/bench/yard-bench.ts'
import type { MountedCell } from '#core/cells/fleet-cells.ts'
import { type CellOutlook, isToSwapNow } from '#core/cells/outlook.ts'
import type { FindingCode, Trust } from '#core/findings/finding.ts'
import { nextDue } from '#core/findings/next-due.ts'
import { type LocalDay, dayNumber, dayOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import type { Say } from '#core/words/say.ts'
import { type Said, deadCell, sayFinding } from '#core/words/sentences/findings.ts'
import { type WorkReason, afterRepair, cellReason, lineReason, repairReason } from '#core/words/sentences/bench-work.ts'
import type { BatteryReason } from '#core/words/vocabulary.ts'
import { phrase } from '#core/words/phrase.ts'

/** Whose unit and yard a sensor is on. */
export interface SensorPlace {
  readonly unitId: number
  readonly unit: string
  readonly yardId: number | null
}

/**
 * The swap of one cell as work for the bench. Due on the day of swap-by, for an old cell on the day on which it should
 * have been, so that the oldest come first and the plan says how late they are. Its urgency is the risk before the next
 * visit.
 */
export function cellWork(outlook: CellOutlook, { unitId, unit, yardId }: SensorPlace, rules: HouseRules): WorkItem {
  return {
    id: outlook.serial,
    kind: 'cell',
    unitId,
    unit,
    yardId,
    dueDay: dayNumber(dayOf(outlook.dueAt, rules.zone)),
    minutes: rules.cellMinutes,
    urgency: outlook.riskBeforeVisit,
  }
}

/**
 * Findings that somebody has to look into on the vehicle: a leak, a ride height, a valve, a spring. The others ask for
 * paper or a weighing.
 */
const wrenchCodes: ReadonlySet<string> = new Set<FindingCode>([
  'checks-drifting',
  'side-imbalance',
  'line-moved',
  'slope-implausible',
  'line-unlike-family',
])
/** When a finding could be known, ms UTC: a change is older than the weighing that brought it to light. */
function knownAt({ code, facts, since }: BenchFinding): number | null {
  const known = code === 'line-moved' ? facts['laterAt'] : facts['knownAt']
  return typeof known === 'number' ? known : since
}

/** Repairs after which the old line no longer holds. */
const changesLine: ReadonlySet<string> = new Set<FindingCode>(['checks-drifting'])

/** Findings for which a line runs out, those first that say most of why. */
const lineCodes: readonly FindingCode[] = [
  'no-calibration',
  'event-since-calibration',
  'uncertainty-over-tolerance',
  'age-over-limit',
  'age-near-limit',
]

/** Why a group is to be calibrated: what was found about its line, or the day on which that runs out. */
function calibrationReason(dueOn: LocalDay | null, found: readonly BenchFinding[], say: Say): WorkReason {
  const [telling] = lineCodes.flatMap((code) => found.find((finding) => finding.code === code) ?? [])
  if (!telling) return lineReason(dueOn)
  const { message, nextStep } = sayFinding(telling, say)
  return { why: message, next: nextStep }
}

/**
 * A group that never had a line waits so long for a planned visit: it has no date to miss, and no weights either until
 * then.
 */
const firstCalibrationDays = 7
/**
 * Of work due on one day: what may move the line comes before the line is taken anew. Cells lie between, by their risk.
 */
const repairFirst = 1
const recalibrationLast = 0

/** One thing to do, with what a person needs to know about it. */
export interface BenchItem extends WorkItem {
  readonly what: string
  /** Why it is to be done, and what to do next, in a sentence each. */
  readonly why: string
  readonly next: string
  /** Lists and sheets say 'now' of it instead of a day: its line cannot be trusted, or its cell's swap-by has come. */
  readonly dueNow: boolean
  readonly group: string | null
  readonly circuit: string | null
  /** Of a cell's sensor. */
  readonly serial: string | null
  readonly cell: string | null
  /** Of a cell: chance, 0 to 1, that it dies before the unit's next visit. */
  readonly risk: number | null
  /** Of a cell: why it most likely comes out. */
  readonly reason: BatteryReason | null
  /** Of a repair. */
  readonly code: FindingCode | null
}

/** A sensed group of a unit in service. */
export interface GroupPlace {
  readonly groupId: number
  readonly group: string
  readonly unitId: number
  readonly unit: string
  readonly yardId: number | null
}

/** When a group's line runs out; null where it has none. */
export interface GroupDue {
  readonly groupId: number
  readonly trust: Trust
  readonly dueOn: LocalDay | null
}

export interface BenchFinding extends Said {
  readonly groupId: number | null
  readonly circuit: string | null
  /** ms UTC. */
  readonly since: number | null
}

export interface BenchEvidence {
  readonly cells: readonly MountedCell[]
  readonly places: ReadonlyMap<number, GroupPlace>
  readonly dues: readonly GroupDue[]
  readonly findings: readonly BenchFinding[]
}

function cellItems(cells: readonly MountedCell[], rules: HouseRules, say: Say): BenchItem[] {
  return cells
    .filter(({ seat }) => !seat.retired)
    .map(({ seat, outlook }) => ({
      ...cellWork(outlook, seat, rules),
      id: `cell ${outlook.serial} ${dayOf(outlook.installedAt, rules.zone)}`,
      what: phrase('Swap the {cell}cell of sensor {serial}{deadSince}', {
        cell: outlook.cell === null ? '' : `${outlook.cell} `,
        serial: outlook.serial,
        deadSince: outlook.deadSince === null ? '' : `, ${deadCell(outlook.deadSince, say)}`,
      }),
      ...cellReason(
        {
          ...outlook,
          ageDays: Math.floor(outlook.ageDays),
          halfFailedDays: Math.round(outlook.predictedLifeDays),
          riskPercent: 100 * outlook.riskBeforeVisit,
          limitPercent: rules.batteryRiskPercent,
        },
        say,
      ),
      dueNow: isToSwapNow(outlook),
      group: seat.group,
      circuit: seat.circuit,
      serial: outlook.serial,
      cell: outlook.cell,
      risk: outlook.riskBeforeVisit,
      reason: outlook.deadSince === null ? 'scheduled' : 'dead',
      code: null,
    }))
}

const none = { circuit: null, serial: null, cell: null, risk: null, reason: null, code: null } as const

/**
 * Everything that the record asks the shop to do, due or not yet.
 *
 * A cell is due on its swap-by day, a recalibration on the day its line runs out, the first calibration of a group
 * without a line within a week. A finding has no date of its own: it is due House Rules' notice (dueNoticeDays) after
 * it could be known, or after `asOf` where that is unknown. A repair that changes the line brings the group's
 * recalibration forward to its own day.
 */
export function benchItems(
  { cells, places, dues, findings }: BenchEvidence,
  rules: HouseRules,
  asOf: number,
  say: Say,
): BenchItem[] {
  const items = cellItems(cells, rules, say)
  const repairedOn = new Map<number, DayNumber>()
  const foundOf = Map.groupBy(findings, ({ groupId }) => groupId)
  for (const finding of findings) {
    const { code, groupId, circuit, since } = finding
    const place = groupId === null ? undefined : places.get(groupId)
    if (!place || !wrenchCodes.has(code)) continue
    const known = knownAt(finding)
    const dueDay = dayNumber(dayOf(known ?? asOf, rules.zone)) + rules.dueNoticeDays
    const { message, nextStep } = sayFinding(finding, say)
    if (changesLine.has(code)) repairedOn.set(place.groupId, Math.min(dueDay, repairedOn.get(place.groupId) ?? dueDay))
    items.push({
      ...none,
      ...place,
      id: `repair ${code} ${place.groupId} ${circuit ?? ''} ${since === null ? '' : dayOf(since, rules.zone)}`,
      kind: 'repair',
      dueDay,
      minutes: rules.repairMinutes,
      urgency: repairFirst,
      what: message,
      ...repairReason(since, known, changesLine.has(code), nextStep, say),
      dueNow: false,
      circuit,
      code,
    })
  }
  for (const { groupId, trust, dueOn } of dues) {
    const place = places.get(groupId)
    if (!place) continue
    const runsOut = dueOn === null ? dayNumber(dayOf(asOf, rules.zone)) + firstCalibrationDays : dayNumber(dueOn)
    const repaired = repairedOn.get(groupId) ?? Number.POSITIVE_INFINITY
    items.push({
      ...none,
      ...place,
      id: `recalibration ${groupId} ${dueOn ?? ''}`,
      kind: 'recalibration',
      dueDay: Math.min(runsOut, repaired),
      dueNow: nextDue(trust, dueOn) === 'now',
      ...(repaired < runsOut ? afterRepair : calibrationReason(dueOn, foundOf.get(groupId) ?? [], say)),
      minutes: rules.recalibrationMinutes,
      urgency: recalibrationLast,
      what: `${dueOn === null ? phrase('Calibrate') : phrase('Recalibrate')} ${place.group}`,
    })
  }
  return items
}

export interface PlannedWork extends BenchPlan {
  readonly firstDay: DayNumber
  readonly lastDay: DayNumber
  readonly benches: Benches
}

/**
 * Plans the work due from the day of `asOf` (ms UTC) through `days` days, planned visits first; see `gatherVisits` and
 * `planBench`. benches: of the fleet's yards.
 */
export function planWork(
  items: readonly BenchItem[],
  planned: readonly PlannedVisit[],
  benches: Benches,
  rules: HouseRules,
  asOf: number,
  days: number,
): PlannedWork {
  const firstDay = dayNumber(dayOf(asOf, rules.zone))
  const lastDay = firstDay + days - 1
  const visits = gatherVisits(items, planned, { firstDay, lastDay, gatherDays: rules.gatherWindowDays })
  return { ...planBench(visits, benches, firstDay), firstDay, lastDay, benches }
}
