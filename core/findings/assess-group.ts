import { calibrateGroup } from '#core/evidence/calibrate.ts'
import { type CheckTrail, followChecks, limitGrowth, limitUncertainty } from '#core/evidence/follow-checks.ts'
import type { GroupHistory } from '#core/evidence/history.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { type LineLife, liftsAgree } from '#core/evidence/line-life.ts'
import type { AssessmentContext, GroupAssessment } from '#core/findings/assessment.ts'
import { breakFindings } from '#core/findings/break-findings.ts'
import { checkFindings } from '#core/findings/check-findings.ts'
import { type LimitForecast, ageFindings, forecastLimit, toleranceFindings } from '#core/findings/due-findings.ts'
import { type Finding, type FindingCode, type Trust, groupFinding, notDismissed } from '#core/findings/finding.ts'
import { hardwareFindings, lineFindings, movedFindings } from '#core/findings/line-findings.ts'
import { altitudeFindings, liftFindings, sideFindings } from '#core/findings/pressure-findings.ts'
import { calibrationSlips, checkSlips } from '#core/findings/slip-findings.ts'
import { addDays, dayOf, daysBetween } from '#core/words/instant.ts'
import { lineProblemFacts } from '#core/words/sentences/line-problems.ts'

/**
 * The trust that a finding takes the group down to; a code that is not here speaks about the line without unsettling
 * it.
 */
const trustOf: Partial<Record<FindingCode, Trust>> = {
  'no-calibration': 'uncalibrated',
  'event-since-calibration': 'upset',
  'altitude-uncorrected': 'doubtful',
  'checks-drifting': 'doubtful',
  'check-missed': 'doubtful',
  'points-disagree': 'doubtful',
  'slope-implausible': 'doubtful',
  'line-unlike-family': 'doubtful',
  'age-over-limit': 'overdue',
  'uncertainty-over-tolerance': 'overdue',
  'age-near-limit': 'due soon',
}
const worstFirst: readonly Trust[] = ['uncalibrated', 'upset', 'doubtful', 'overdue', 'due soon']

function trustFrom(findings: readonly Finding[]): Trust {
  const told = new Set(
    findings.map(({ code, severity }) => {
      // A note is milder than its code: an answered miss leaves trust alone, a tolerance to be passed makes it due
      // soon.
      if (severity === 'note')
        return code === 'age-near-limit' || code === 'uncertainty-over-tolerance' ? 'due soon' : undefined
      return trustOf[code]
    }),
  )
  return worstFirst.find((trust) => told.has(trust)) ?? 'sound'
}

function noCalibration(history: GroupHistory, { scales, rules }: AssessmentContext): Finding {
  const newest = history.calibrations.at(-1)
  const refused = newest && calibrateGroup(history, newest, (id) => scales.get(id), rules)
  const told = {
    since:
      history.circuits.flatMap(({ mounts }) => mounts.map(({ mountedAt }) => mountedAt)).sort((a, b) => a - b)[0] ??
      null,
    numbers: { calibrations: history.calibrations.length },
  }
  return refused === undefined || refused.ok
    ? groupFinding(history, 'no-calibration', 'never', {}, told)
    : groupFinding(history, 'no-calibration', 'no line', lineProblemFacts(refused.problem), told)
}

/**
 * Findings about the line in use; of a group with a line for each state of its lift axle, the checks test every one.
 */
function currentFindings(
  history: GroupHistory,
  trails: readonly CheckTrail[],
  trail: CheckTrail,
  forecast: LimitForecast,
  limitLb: number,
  context: AssessmentContext,
): Finding[] {
  const { life } = trail
  const lives = trails.map((each) => each.life)
  const inUse = trails.filter((each) => each.life.endedAt === Number.POSITIVE_INFINITY)
  const before = lives.slice(0, lives.indexOf(life)).findLast(({ lift }) => liftsAgree(lift, life.lift))
  return [
    ...breakFindings(history, life.line.calibration),
    ...altitudeFindings(history, life),
    ...inUse.flatMap((each) => checkFindings(history, each, context.rules)),
    ...lineFindings(history, life.line, limitLb, context),
    ...(before ? movedFindings(history, before, life, context.rules) : []),
    ...hardwareFindings(history, life.line, context.rules, context.estimates),
    ...ageFindings(history, life.line, context),
    ...toleranceFindings(history, forecast, trail, limitLb, context),
    ...liftFindings(history, life, lives),
  ]
}

/** What a group's findings rest on: how many weighings, calibrations and events there are. */
function evidenceOf({ observations, calibrations, events }: GroupHistory): string {
  let weighed = 0
  for (const { weightLb } of observations) if (weightLb !== null) weighed += 1
  return `${weighed}/${calibrations.length}/${events.length}`
}

/** Gives each finding its evidence and sets aside what a person has set aside on that same evidence. */
function sortOut(
  history: GroupHistory,
  found: readonly Finding[],
  { dismissed }: AssessmentContext,
): Pick<GroupAssessment, 'findings' | 'aside'> {
  const evidence = evidenceOf(history)
  // A finding that grew worse on the same evidence is another one: a notice set aside does not silence what it
  // announced.
  const all = found.map((finding) => ({ ...finding, evidence: `${evidence} ${finding.severity}` }))
  const findings = dismissed.size === 0 ? all : notDismissed(all, dismissed)
  return { findings, aside: all.filter((finding) => !findings.includes(finding)) }
}

/** Judges one sensed group on a day: its lines, what tested them, and what that says. */
export function assessGroup(
  history: GroupHistory,
  lives: readonly LineLife[],
  context: AssessmentContext,
): GroupAssessment {
  const limitLb = groupLimitLb(history, context.rules)
  const trails = lives.map((life) => followChecks(history, life, context))
  const sides = sideFindings(history, context.rules)
  const slips = trails.flatMap((trail) => [
    ...calibrationSlips(history, trail.life, context),
    ...checkSlips(history, trail),
  ])
  const trail = trails.at(-1)
  if (!trail) {
    return {
      history,
      trust: 'uncalibrated',
      current: null,
      limitLb,
      ageDays: null,
      dueOn: null,
      uLimitLb: null,
      forecast: null,
      lives,
      trails,
      ...sortOut(history, [noCalibration(history, context), ...sides], context),
    }
  }
  const { calibratedAt } = trail.life.line.calibration
  const forecast = forecastLimit(
    limitUncertainty(trail, context.asOf),
    limitGrowth(trail.life),
    limitLb,
    context.rules.tolerancePercent,
  )
  const sorted = sortOut(
    history,
    [...currentFindings(history, trails, trail, forecast, limitLb, context), ...slips, ...sides],
    context,
  )
  const endsAt = Math.min(
    trail.life.brokenAt ?? Number.POSITIVE_INFINITY,
    addDays(calibratedAt, context.rules.maximumAgeDays),
    Number.isFinite(forecast.daysLeft) ? addDays(context.asOf, forecast.daysLeft) : Number.POSITIVE_INFINITY,
  )
  return {
    history,
    current: trail.life.line,
    limitLb,
    lives,
    trails,
    forecast,
    ...sorted,
    trust: trustFrom(sorted.findings),
    ageDays: daysBetween(calibratedAt, context.asOf),
    dueOn: dayOf(endsAt),
    uLimitLb: forecast.uNowLb,
  }
}
