import { type FaultKind, fittingCodes, type PlantedFault } from '#tests/bed/fault-kinds.ts'
import type { FindingRow, TrustRow } from '#tests/bed/reports.ts'
import type { FleetTruth, GroupTruth } from '#tests/bed/truth.ts'

/** A calibration counts as recent up to this age. */
const recentDays = 180
const dayMs = 86_400_000

export interface KindScore {
  readonly kind: FaultKind
  readonly planted: number
  /** Named by a code that says what is wrong, and by one that at least notices it. */
  readonly exact: number
  readonly fitting: number
  /** Days from the fault's start to the finding's `since`, the middle one of those named; null when none says. */
  readonly medianSinceDays: number | null
  readonly missed: readonly PlantedFault[]
}

export interface BedScore {
  readonly kinds: readonly KindScore[]
  readonly cleanGroups: number
  /** Clean groups with any finding of severity stop or warn, and how many have each code. */
  readonly alarmedGroups: number
  readonly alarms: readonly FindingRow[]
  readonly alarmsByCode: ReadonlyMap<string, number>
  readonly recentGroups: number
  readonly recentSound: number
  readonly biasedScales: number
  readonly biasedNamed: number
  readonly scalesWronglyNamed: number
}

const groupKey = (unit: string | null, group: string | null): string => `${unit}/${group}`
const ticketKey = (scale: string | null, ticket: string | null): string => `${scale}/${ticket}`

/** Whether a finding speaks of the very thing that was planted: its group, its ticket, or its scale. */
function isAbout(finding: FindingRow, fault: PlantedFault): boolean {
  if (fault.unit === null) return finding.scale === fault.scale
  const onTicket = fault.ticket !== null && finding.ticket !== null
  if (onTicket && ticketKey(finding.scale, finding.ticket) !== ticketKey(fault.scale, fault.ticket)) return false
  if (onTicket && finding.group === null) return true
  return finding.unit === fault.unit && (finding.group === null || finding.group === fault.group)
}

function median(values: readonly number[]): number | null {
  const sorted = values.toSorted((a, b) => a - b)
  return sorted.length === 0 ? null : (sorted[Math.floor(sorted.length / 2)] as number)
}

function scoreKind(kind: FaultKind, faults: readonly PlantedFault[], findings: readonly FindingRow[]): KindScore {
  const { exact, fitting } = fittingCodes[kind]
  const naming = (fault: PlantedFault, codes: readonly string[]) =>
    findings.filter((finding) => codes.includes(finding.code) && isAbout(finding, fault))
  const named = faults.map((fault) => ({ fault, exact: naming(fault, exact), fitting: naming(fault, fitting) }))
  return {
    kind,
    planted: faults.length,
    exact: named.filter((each) => each.exact.length > 0).length,
    fitting: named.filter((each) => each.fitting.length > 0).length,
    medianSinceDays: median(
      named.flatMap(({ fault, fitting: found }) =>
        found
          .flatMap(({ since }) => (since === null ? [] : [(Date.parse(since) - Date.parse(fault.startedAt)) / dayMs]))
          .slice(0, 1),
      ),
    ),
    missed: named.filter((each) => each.fitting.length === 0).map(({ fault }) => fault),
  }
}

/** Cells, dead ones too, and biased scales are no matter of a group's line. */
const noMatterOfTheLine = /^(battery-|sensor-silent$|scale-biased$)/

/** Findings of stop or warn that a clean group has to bear. */
function alarmsOn(truth: FleetTruth, findings: readonly FindingRow[]): Map<GroupTruth, FindingRow[]> {
  const slippedTickets = new Set(
    truth.planted.filter(({ ticket }) => ticket !== null).map(({ scale, ticket }) => ticketKey(scale, ticket)),
  )
  const clean = new Map(
    truth.groups.filter((group) => group.clean).map((group) => [groupKey(group.unit, group.group), group]),
  )
  const byUnit = Map.groupBy(clean.values(), ({ unit }) => unit)
  const alarms = new Map<GroupTruth, FindingRow[]>()
  for (const finding of findings) {
    if (finding.severity === 'note' || noMatterOfTheLine.test(finding.code)) continue
    if (finding.ticket !== null && slippedTickets.has(ticketKey(finding.scale, finding.ticket))) continue
    const one = clean.get(groupKey(finding.unit, finding.group))
    const hit = one !== undefined ? [one] : finding.group === null ? (byUnit.get(finding.unit ?? '') ?? []) : []
    for (const group of hit) alarms.set(group, [...(alarms.get(group) ?? []), finding])
  }
  return alarms
}

/** Scores what `findings --json` and `trust --json` say of a simulated fleet against what is true of it. */
export function scoreFindings(
  truth: FleetTruth,
  findings: readonly FindingRow[],
  trust: readonly TrustRow[],
): BedScore {
  const alarms = alarmsOn(truth, findings)
  const alarmsByCode = new Map<string, number>()
  for (const found of alarms.values())
    for (const code of new Set(found.map((finding) => finding.code)))
      alarmsByCode.set(code, (alarmsByCode.get(code) ?? 0) + 1)
  const trustOf = new Map(trust.map((row) => [groupKey(row.unit, row.group), row.trust]))
  const clean = truth.groups.filter((group) => group.clean)
  const recent = clean.filter(({ lastCalibratedDaysAgo }) => lastCalibratedDaysAgo <= recentDays)
  const biased = new Set(truth.planted.filter(({ kind }) => kind === 'biased-scale').map(({ scale }) => scale))
  const accused = new Set(findings.filter(({ code }) => code === 'scale-biased').map(({ scale }) => scale))
  return {
    kinds: [...Map.groupBy(truth.planted, ({ kind }) => kind)].map(([kind, faults]) =>
      scoreKind(kind, faults, findings),
    ),
    cleanGroups: clean.length,
    alarmedGroups: alarms.size,
    alarms: [...alarms.values()].flat(),
    alarmsByCode,
    recentGroups: recent.length,
    recentSound: recent.filter(({ unit, group }) => trustOf.get(groupKey(unit, group)) === 'sound').length,
    biasedScales: biased.size,
    biasedNamed: [...biased].filter((scale) => accused.has(scale)).length,
    scalesWronglyNamed: [...accused].filter((scale) => !biased.has(scale)).length,
  }
}

/** The scores of several fleets as one. */
export function addScores(scores: readonly BedScore[]): BedScore {
  const sum = (pick: (score: BedScore) => number) => scores.reduce((total, score) => total + pick(score), 0)
  const alarmsByCode = new Map<string, number>()
  for (const score of scores)
    for (const [code, count] of score.alarmsByCode) alarmsByCode.set(code, (alarmsByCode.get(code) ?? 0) + count)
  const kinds = [
    ...Map.groupBy(
      scores.flatMap((score) => score.kinds),
      ({ kind }) => kind,
    ),
  ].map(
    ([kind, parts]): KindScore => ({
      kind,
      planted: parts.reduce((total, part) => total + part.planted, 0),
      exact: parts.reduce((total, part) => total + part.exact, 0),
      fitting: parts.reduce((total, part) => total + part.fitting, 0),
      medianSinceDays: median(
        parts.flatMap(({ medianSinceDays }) => (medianSinceDays === null ? [] : [medianSinceDays])),
      ),
      missed: parts.flatMap(({ missed }) => missed),
    }),
  )
  return {
    kinds,
    alarmsByCode,
    alarms: scores.flatMap(({ alarms }) => alarms),
    cleanGroups: sum((score) => score.cleanGroups),
    alarmedGroups: sum((score) => score.alarmedGroups),
    recentGroups: sum((score) => score.recentGroups),
    recentSound: sum((score) => score.recentSound),
    biasedScales: sum((score) => score.biasedScales),
    biasedNamed: sum((score) => score.biasedNamed),
    scalesWronglyNamed: sum((score) => score.scalesWronglyNamed),
  }
}
