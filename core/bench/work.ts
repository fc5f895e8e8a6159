import { type BenchPlan, type Capacity, houseRulesCapacity, planBench } from '#core/bench/plan.ts'
import { type DayNumber, type PlannedVisit, type WorkItem, type WorkKind, gatherVisits } from '#core/bench/visits.ts'
import type { MountedCell } from '#core/cells/fleet-cells.ts'
import type { CellOutlook } from '#core/cells/outlook.ts'
import type { FindingCode } from '#core/findings/finding.ts'
import { type LocalDay, dayNumber, dayOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import type { Say } from '#core/words/say.ts'
import { type Said, deadCell, sayFinding } from '#core/words/sentences/findings.ts'
import type { BatteryReason } from '#core/words/vocabulary.ts'

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

/** Stands wherever somebody is sent to work on a vehicle. */
export const cautions = [
  'Park on level ground, set the brakes and chock the wheels.',
  'Exhaust the suspension air before opening a line.',
  'Never work under a body or frame that is held up by air.',
  'Never tee into brake air.',
  'Keep new and used coin cells out of children’s reach: a swallowed one can kill within hours.',
  'Onboard weights are not legal-for-trade: a certified scale and the local authority’s rules decide.',
] as const

const steps: Record<WorkKind, readonly string[]> = {
  cell: [
    'Find the sensor by its serial.',
    'Open its housing, take the old cell out and note whether the sensor had still reported.',
    'Put the new cell in with the right side up, without touching both faces, and close the seal.',
    'Wait for the sensor’s next report; compare its pressure with a gauge if one is at hand.',
    'Record the swap with its date, the cell type and the reason: scheduled, low or dead.',
  ],
  recalibration: [
    'Weigh the unit empty on a certified scale: air built up, on level ground, the suspension settled.',
    'Note the pressure of every circuit at that moment, and where the lift axles stand.',
    'Weigh it again loaded near the limit, better at one more load between, and note the pressures each time.',
    'Enter the tickets and readings in the Scale House and make the calibration from them.',
  ],
  repair: [
    'Look for a leak at the lines, fittings and air springs of the circuit.',
    'Check the ride height against its setting, and the leveling valve with its link.',
    'Compare the sensor’s pressure with a gauge.',
    'Record what was done as an event: it tells whether the line still holds.',
  ],
}

export const stepsOf = (kind: WorkKind): readonly string[] => steps[kind]

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
/** Repairs after which the old line no longer holds. */
const changesLine: ReadonlySet<string> = new Set<FindingCode>(['checks-drifting'])

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
      what:
        `Swap the ${outlook.cell === null ? '' : `${outlook.cell} `}cell of sensor ${outlook.serial}` +
        (outlook.deadSince === null ? '' : `, ${deadCell(outlook.deadSince, say)}`),
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
 * it began, or after `asOf` where that is unknown. A repair that changes the line brings the group's recalibration
 * forward to its own day.
 */
export function benchItems(
  { cells, places, dues, findings }: BenchEvidence,
  rules: HouseRules,
  asOf: number,
  say: Say,
): BenchItem[] {
  const items = cellItems(cells, rules, say)
  const repairedOn = new Map<number, DayNumber>()
  for (const finding of findings) {
    const { code, groupId, circuit, since } = finding
    const place = groupId === null ? undefined : places.get(groupId)
    if (!place || !wrenchCodes.has(code)) continue
    const dueDay = dayNumber(dayOf(since ?? asOf, rules.zone)) + rules.dueNoticeDays
    if (changesLine.has(code)) repairedOn.set(place.groupId, Math.min(dueDay, repairedOn.get(place.groupId) ?? dueDay))
    items.push({
      ...none,
      ...place,
      id: `repair ${code} ${place.groupId} ${circuit ?? ''} ${since === null ? '' : dayOf(since, rules.zone)}`,
      kind: 'repair',
      dueDay,
      minutes: rules.repairMinutes,
      urgency: repairFirst,
      what: sayFinding(finding, say).message,
      circuit,
      code,
    })
  }
  for (const { groupId, dueOn } of dues) {
    const place = places.get(groupId)
    if (!place) continue
    const runsOut = dueOn === null ? dayNumber(dayOf(asOf, rules.zone)) + firstCalibrationDays : dayNumber(dueOn)
    items.push({
      ...none,
      ...place,
      id: `recalibration ${groupId} ${dueOn ?? ''}`,
      kind: 'recalibration',
      dueDay: Math.min(runsOut, repairedOn.get(groupId) ?? runsOut),
      minutes: rules.recalibrationMinutes,
      urgency: recalibrationLast,
      what: `${dueOn === null ? 'Calibrate' : 'Recalibrate'} ${place.group}`,
    })
  }
  return items
}

export interface PlannedWork extends BenchPlan {
  readonly firstDay: DayNumber
  readonly lastDay: DayNumber
  readonly capacity: Capacity
}

/**
 * Plans the work due from the day of `asOf` (ms UTC) through `days` days, planned visits first; see `gatherVisits` and
 * `planBench`.
 */
export function planWork(
  items: readonly BenchItem[],
  planned: readonly PlannedVisit[],
  rules: HouseRules,
  asOf: number,
  days: number,
): PlannedWork {
  const firstDay = dayNumber(dayOf(asOf, rules.zone))
  const lastDay = firstDay + days - 1
  const capacity = houseRulesCapacity(rules)
  const visits = gatherVisits(items, planned, { firstDay, lastDay, gatherDays: rules.gatherWindowDays })
  return { ...planBench(visits, capacity, firstDay), firstDay, lastDay, capacity }
}
