import type {
  CalibrationFacts,
  EventFacts,
  GroupHistory,
  Observation,
  ScaleFacts,
  TicketFacts,
} from '#core/evidence/history.ts'
import { assessFleet } from '#core/findings/assess-fleet.ts'
import type { Finding, FindingCode } from '#core/findings/finding.ts'
import { type HouseRules, defaultHouseRules } from '#core/words/house-rules.ts'
import { sayStored } from '#core/words/say.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'
import type { Advice } from '#core/words/sentences/sentence.ts'
import { circuitFacts, groupFacts, mountFacts, observationFacts, scaleFacts } from '#tests/fleet/facts.ts'

/** A tandem drive group with one gauge sensor, calibrated at three loads on one scale; a test states what differs. */
export const instant = (text: string): number => Date.parse(text)
export const calibratedAt = instant('2025-03-01T15:00:00Z')

export const mount = mountFacts
export const circuit = circuitFacts
export const scale = scaleFacts({ scaleId: 7, name: 'Pit scale', elevationFt: 800 })

let readingId = 0
export function point(
  psi: number | readonly (number | null)[],
  weightLb: number | null,
  change: Partial<Observation> = {},
): Observation {
  readingId += 1
  return observationFacts({
    readingId,
    takenAt: calibratedAt - 3_600_000,
    elevationFt: scale.elevationFt,
    psi: typeof psi === 'number' ? [psi] : psi,
    ticketId: readingId + 1000,
    scaleId: scale.scaleId,
    weightLb,
    ...change,
  })
}

export const dayMs = 86_400_000

/** A time so many days after the calibration. */
export const daysOn = (days: number): number => calibratedAt + days * dayMs

/** What the line of these groups reads at a pressure. */
export const lineLb = (psi: number): number => 4000 + 500 * psi

/** A check weighing so many days after the calibration, near the limit, that the scale shows `missLb` over the line. */
export function check(
  days: number,
  missLb = 0,
  { psi = 58, ...change }: Partial<Omit<Observation, 'psi'>> & { psi?: number } = {},
): Observation {
  return point(psi, Math.round((lineLb(psi) + missLb) / 20) * 20, { takenAt: daysOn(days), ...change })
}

/** Check weighings every 16 days, one for each miss. */
export const checks = (misses: readonly number[], from = 16): Observation[] =>
  misses.map((missLb, i) => check(from + 16 * i, missLb))

/** Three points on 4,000 lb + 500 lb/psi, out of line by less than their uncertainties. */
export const goodPoints = (): Observation[] => [point(14, 11_060), point(38, 22_900), point(60, 34_040)]

export const calibration = (change: Partial<CalibrationFacts> = {}): CalibrationFacts => ({
  calibrationId: 500,
  calibratedAt,
  calibratedBy: 'J. Doe',
  points: goodPoints(),
  ...change,
})

export const event = (kind: EventFacts['kind'], at: string | number, change: Partial<EventFacts> = {}): EventFacts => ({
  kind,
  happenedAt: typeof at === 'number' ? at : instant(at),
  circuitId: null,
  note: null,
  ...change,
})

/** Every reading once, calibration points among them, in the order of time: as the record is read. */
function allReadings({ calibrations, observations }: Pick<GroupHistory, 'calibrations' | 'observations'>) {
  const readings = [...calibrations.flatMap(({ points }) => points), ...observations]
  const once = new Map(readings.map((each) => [each.readingId, each]))
  return [...once.values()].sort((a, b) => a.takenAt - b.takenAt)
}

export function history(change: Partial<GroupHistory> = {}): GroupHistory {
  const made = groupFacts({ unit: 'T-104', calibrations: [calibration()], ...change })
  return { ...made, observations: allReadings(made) }
}

export const ticket = (change: Partial<TicketFacts> = {}): TicketFacts => ({
  ticketId: 900,
  number: '55120',
  scaleId: scale.scaleId,
  weighedAt: calibratedAt,
  grossLb: 79_900,
  unitIds: [1, 2],
  groupIds: [9, 10, 20],
  weightsLb: [11_900, 34_000, 34_000],
  together: [],
  complete: true,
  ...change,
})

interface Case {
  readonly asOf?: string | number
  readonly rules?: Partial<HouseRules>
  readonly scales?: readonly ScaleFacts[]
  readonly tickets?: readonly TicketFacts[]
  readonly dismissed?: ReadonlySet<string>
}

const contextOf = ({ asOf = '2025-06-01T12:00:00Z', rules = {}, scales = [scale], tickets = [] }: Case) => ({
  asOf: typeof asOf === 'number' ? asOf : instant(asOf),
  rules: { ...defaultHouseRules, ...rules },
  scales: new Map(scales.map((each) => [each.scaleId, each])),
  tickets: new Map(tickets.map((each) => [each.ticketId, each])),
})

/** A finding with its words in the stored measures. */
export type SaidFinding = Finding & Advice
export const said = (finding: Finding): SaidFinding => ({ ...finding, ...sayFinding(finding, sayStored('UTC')) })

/** Judges a small fleet and says what was found. */
export function judgeFleet(groups: readonly GroupHistory[], given: Case = {}) {
  const { asOf, rules, scales, tickets } = contextOf(given)
  const judged = assessFleet(
    { groups, scales, tickets },
    rules,
    asOf,
    given.dismissed ? { dismissed: given.dismissed } : {},
  )
  return {
    ...judged,
    groups: judged.groups.map((group) => ({ ...group, findings: group.findings.map(said) })),
    others: judged.others.map(said),
  }
}

/** Judges one group as the fleet is judged. */
export function judge(group: GroupHistory, given: Case = {}) {
  const [assessment] = judgeFleet([group], given).groups
  if (!assessment) throw new Error('the group was not judged')
  return assessment
}

/** Findings about a ticket alone. */
export const judgeTicket = (each: TicketFacts, given: Case = {}): readonly SaidFinding[] =>
  judgeFleet([], { ...given, tickets: [each] }).others

/** The finding of a code about a group, or undefined. */
export const find = (group: GroupHistory, code: FindingCode, given: Case = {}): SaidFinding | undefined =>
  judge(group, given).findings.find((finding) => finding.code === code)
