import { type CheckTrail, followChecks } from '#core/evidence/follow-checks.ts'
import type { GroupHistory } from '#core/evidence/history.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { type RefusedCalibration, linesInUse, predecessorOf } from '#core/evidence/line-in-use.ts'
import { lineLives, linesOf } from '#core/evidence/line-life.ts'
import { groupStates } from '#core/evidence/state/life-states.ts'
import { type SumTest, sumTests } from '#core/evidence/sum-tests.ts'
import type { AssessmentContext, GroupAssessment, LineStanding } from '#core/findings/assessment.ts'
import { breakFindings } from '#core/findings/break-findings.ts'
import { checkFindings } from '#core/findings/check-findings.ts'
import { ageFindings, dueOn, forecastLimit, toleranceFindings } from '#core/findings/due-findings.ts'
import { type Finding, type Trust, groupFinding } from '#core/findings/finding.ts'
import { hardwareFindings, lineFindings, movedFindings } from '#core/findings/line-findings.ts'
import {
  altitudeFindings,
  mixedLiftFindings,
  otherLiftFindings,
  sideFindings,
} from '#core/findings/pressure-findings.ts'
import { circuitFindings, silentFindings, weatherFindings } from '#core/findings/reading-findings.ts'
import { notDismissed } from '#core/findings/set-aside.ts'
import { lineSlips } from '#core/findings/slip-findings.ts'
import { sumFindings } from '#core/findings/sum-findings.ts'
import { trustBy, trustRank, worstTrust } from '#core/findings/trust.ts'
import { weighingOffer } from '#core/findings/weigh-next.ts'
import { expanded } from '#core/words/coverage.ts'
import { type LocalDay, dayOf, daysBetween } from '#core/words/day.ts'
import { lineProblemFacts } from '#core/words/sentences/line-problems.ts'

const trustFrom = (findings: readonly Finding[]): Trust => worstTrust(findings.map(trustBy))

/**
 * The findings that make the state first, then those that would make a milder one, in the order in which they were
 * made.
 */
const worstFindingsFirst = (findings: readonly Finding[]): Finding[] => {
  const rank = (finding: Finding) => trustRank(trustBy(finding) ?? 'sound')
  return findings.toSorted((a, b) => rank(a) - rank(b))
}

function noCalibration(history: GroupHistory, refused: readonly RefusedCalibration[]): Finding {
  const newest = refused.at(-1)
  const mounted = history.circuits.flatMap(({ mounts }) => mounts.map(({ mountedAt }) => mountedAt))
  const told = {
    since: mounted.length > 0 ? Math.min(...mounted) : null,
    restsOn: String(history.calibrations.length),
    numbers: { calibrations: history.calibrations.length },
  }
  return newest
    ? groupFinding(history, 'no-calibration', 'no line', lineProblemFacts(newest.problem), told)
    : groupFinding(history, 'no-calibration', mounted.length > 0 ? 'never' : 'no sensor', {}, told)
}

/** Judges one line in use: its points, its age, its checks, what broke it, and the line it took over from. */
function standOf(
  history: GroupHistory,
  trails: readonly CheckTrail[],
  trail: CheckTrail,
  sums: readonly SumTest[],
  limitLb: number,
  context: AssessmentContext,
): LineStanding {
  const { rules, asOf, estimates, dismissed, historyOf } = context
  const { line, lift } = trail.life
  const before = predecessorOf(
    trails.map((each) => ({ lift: each.life.lift, trail: each })),
    trails.indexOf(trail),
  )?.trail
  const forecast = forecastLimit(trail, limitLb, rules, asOf)
  const findings = [
    ...breakFindings(history, line.calibration, rules),
    ...checkFindings(history, trail, rules),
    ...sumFindings(history, trail, sums, (groupId) => historyOf(groupId)?.group ?? '', rules),
    ...lineFindings(history, trail, limitLb, context),
    ...(before ? movedFindings(history, before, trail, rules) : []),
    ...hardwareFindings(history, line, rules, estimates),
    ...ageFindings(history, line, context),
    ...toleranceFindings(history, forecast, trail, limitLb, context),
    ...mixedLiftFindings(history, line),
    ...circuitFindings(history, trail.life.line),
    ...weatherFindings(history, trail.physical),
  ]
  return {
    lift,
    line,
    trail,
    sums,
    forecast,
    uLimitLb: trail.life.brokenAt === null ? forecast.uNowLb : null,
    findings,
    // What nothing can be weighed with is not trusted, whatever somebody has set aside.
    trust: worstTrust([trustFrom(notDismissed(findings, dismissed)), lift === 'both' ? 'doubtful' : undefined]),
    ageDays: daysBetween(dayOf(line.calibration.calibratedAt, rules.zone), dayOf(asOf, rules.zone)),
    dueOn: dueOn(trail, forecast, rules),
  }
}

/** The earliest of some days; null of none. */
const earliest = (days: readonly LocalDay[]): LocalDay | null => days.toSorted()[0] ?? null

/** What is said of several lines, each sentence once, with the lift state of its line. */
function ofEachLine(standings: readonly LineStanding[]): Finding[] {
  if (standings.length < 2) return standings.flatMap(({ findings }) => findings)
  const said = standings.flatMap(({ findings, lift }) =>
    findings.map((finding) => ({ ...finding, numbers: { ...finding.numbers, line_lift: lift } })),
  )
  const whatOf = ({ code, variant, facts }: Finding) => JSON.stringify([code, variant, facts])
  return said.filter((finding, i) => said.findIndex((each) => whatOf(each) === whatOf(finding)) === i)
}

/** Judges one sensed group on a day: its lines, what tested them, and what that says. */
export function assessGroup(history: GroupHistory, context: AssessmentContext): GroupAssessment {
  const { rules, dismissed } = context
  const limitLb = groupLimitLb(history, rules)
  const lines = linesOf(history, context)
  const lives = lineLives(history, context, lines)
  const states = groupStates(
    history,
    lives.map(({ lift }) => lift),
    context,
  )
  const trails = followChecks(history, lives, states, context)
  const used = new Set(linesInUse(lines.lines))
  const sums = sumTests(history, lines.lines, states, context)
  const standings = trails
    .filter(({ life }) => used.has(life.line))
    .map((trail) => {
      const own = sums.flatMap(({ line, test }) => (line === trail.life.line ? [test] : []))
      return standOf(history, trails, trail, own, limitLb, context)
    })
  const inUse = standings.map(({ trail }) => trail.life)
  const newest = standings.at(-1)
  const found = [
    ...(newest ? [] : [noCalibration(history, lines.refused)]),
    ...ofEachLine(standings),
    ...altitudeFindings(history, lines, inUse, rules),
    ...otherLiftFindings(history, lines.lines),
    ...trails.flatMap((trail) => lineSlips(history, trail)),
    ...sideFindings(history, rules),
    ...(newest ? silentFindings(history, context) : []),
  ]
  const findings = worstFindingsFirst(notDismissed(found, dismissed))
  return {
    history,
    standings,
    limitLb,
    lives,
    trails,
    findings,
    aside: found.filter((finding) => !findings.includes(finding)),
    trust: worstTrust([trustFrom(findings), ...standings.map(({ trust }) => trust)]),
    current: newest?.line ?? null,
    ageDays: newest?.ageDays ?? null,
    dueOn: earliest(standings.map((standing) => standing.dueOn)),
    uLimitLb: newest?.uLimitLb ?? null,
    weighNext: newest ? weighingOffer(newest.trail, states, expanded(newest.forecast.allowedLb), context) : null,
    forecast: newest?.forecast ?? null,
  }
}
