import type { GroupView, TrackView } from '#core/api/contract.ts'
import type { GroupAssessment } from '#core/findings/assessment.ts'
import type { CheckTrail } from '#core/findings/evidence/follow-checks.ts'
import { type LineLife, liftsAgree } from '#core/findings/evidence/line-life.ts'
import { compareLives } from '#core/findings/moved-findings.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import { addDays, toStoredInstant } from '#core/fleet/instant.ts'
import { averageRunLength } from '#core/line/cusum.ts'
import { predictWeight } from '#core/line/predict.ts'
import { readState, shareOf, wanderOn } from '#core/line/track.ts'

export interface TicketName {
  readonly number: string
  readonly scale: string
}

const forecastSteps = 12

function viewLife(
  { life, steps, alarm }: CheckTrail,
  fixedPsi: number,
  asOf: number,
  names: ReadonlyMap<number, TicketName>,
): TrackView['lives'][number] {
  const share = shareOf(fixedPsi, life.emptyPsi, life.limitPsi)
  const at = (ms: number, state: LineLife['start']) => {
    const { weightLb, variance } = readState(state, share)
    return { at: toStoredInstant(ms), weightLb, u: Math.sqrt(variance) }
  }
  const { calibratedAt, calibrationId } = life.line.calibration
  const end = Math.min(life.endedAt, life.brokenAt ?? Number.POSITIVE_INFINITY, asOf)
  const last = steps.at(-1)
  return {
    calibrationId,
    startedAt: toStoredInstant(calibratedAt),
    endedAt: Number.isFinite(life.endedAt) ? toStoredInstant(life.endedAt) : null,
    brokenAt: life.brokenAt === null ? null : toStoredInstant(life.brokenAt),
    lineLb: predictWeight(life.line.fit, fixedPsi).value,
    states: [
      at(calibratedAt, life.start),
      ...steps.map(({ check, state }) => at(check.at, state)),
      at(end, wanderOn(last?.state ?? life.start, life.wander, end - (last?.check.at ?? calibratedAt))),
    ],
    checks: steps.map(({ check, innovation, cusum, missed, slip, state }) => {
      const name = check.observation.ticketId === null ? undefined : names.get(check.observation.ticketId)
      return {
        at: toStoredInstant(check.at),
        ticket: name?.number ?? '',
        scale: name?.scale ?? '',
        psi: check.psi,
        weightLb: check.observation.weightLb as number,
        missLb: innovation.missLb,
        uMissLb: innovation.uMissLb,
        z: innovation.z,
        missed,
        slip: slip?.code ?? null,
        atFixedLb: readState(state, share).weightLb + check.weightLb - readState(state, check.share).weightLb,
        cusumHigh: cusum.high,
        cusumLow: cusum.low,
      }
    }),
    alarmFrom: alarm?.from ?? null,
  }
}

/** The track of a group at its limit pressure today; null without a line. */
export function viewTrack(
  { trails, forecast, limitLb }: GroupAssessment,
  asOf: number,
  rules: HouseRules,
  names: ReadonlyMap<number, TicketName>,
): TrackView | null {
  const current = trails.at(-1)
  if (!current || !forecast) return null
  const fixedPsi = current.life.limitPsi
  const horizon = Math.min(
    Number.isFinite(forecast.daysLeft) ? forecast.daysLeft * 1.2 : rules.maximumAgeDays,
    rules.maximumAgeDays,
  )
  return {
    fixedPsi,
    toleranceLb: (rules.tolerancePercent / 100) * limitLb,
    cusumLimit: rules.cusumLimit,
    checksToFalseAlarm: averageRunLength(0, rules.cusumSlack, rules.cusumLimit),
    lives: trails.map((trail) => viewLife(trail, fixedPsi, asOf, names)),
    forecast: Array.from({ length: forecastSteps + 1 }, (_, i) => {
      const days = (horizon * i) / forecastSteps
      return {
        at: toStoredInstant(addDays(asOf, days)),
        u: Math.sqrt(forecast.uNowLb ** 2 + forecast.growthLb2PerDay * days),
      }
    }),
    allowedULb: forecast.allowedLb,
  }
}

/** As-found error of every recalibration that no recorded work came before, newest first. */
export function viewAsFound({ lives }: GroupAssessment): GroupView['asFound'] {
  return lives
    .flatMap((later, i) => {
      const earlier = lives.slice(0, i).findLast(({ lift }) => liftsAgree(lift, later.lift))
      if (!earlier || earlier.brokenAt !== null) return []
      return [
        {
          calibrationId: later.line.calibration.calibrationId,
          beforeId: earlier.line.calibration.calibrationId,
          ...compareLives(earlier, later),
        },
      ]
    })
    .reverse()
}
