import { circuitGaugePsi } from '#core/evidence/calibrate.ts'
import type { CircuitFacts, GroupHistory, Observation } from '#core/evidence/history.ts'
import { type LineLife, liftsAgree } from '#core/evidence/line-life.ts'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { median } from '#core/line/statistics.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

const fewestChecks = 6
const smallestSpreadPsi = 0.7
const certainZ = 5
const mostLeft = 2

/** Readings of an absolute sensor whose elevation nobody knows: the air's pressure was taken for that of sea level. */
function unknownElevation(history: GroupHistory, { line, checks }: LineLife): Finding[] {
  const { circuits } = history
  const absolute = circuits.findIndex(({ mounts }) =>
    mounts.some(({ reference, removedAt }) => reference === 'absolute' && removedAt === null),
  )
  if (absolute < 0) return []
  const without = [...line.points, ...checks]
    .map(({ observation }) => observation)
    .filter(({ elevationFt, psi: read }) => elevationFt === null && read[absolute] !== null)
  const [first] = without
  if (!first) return []
  const per1000FtPsi = atmosphericPsi(0) - atmosphericPsi(1000)
  return [
    groupFinding(
      history,
      'altitude-uncorrected',
      'no elevation',
      { readings: without.length, psiPerFt: per1000FtPsi / 1000 },
      {
        since: first.takenAt,
        circuitId: circuits[absolute]?.circuitId ?? null,
        numbers: { readings: without.length, per_1000_ft_psi: per1000FtPsi },
      },
    ),
  ]
}

/**
 * Checks whose misses follow the pressure of the air: a sensor said to be gauge that is absolute (misses fall where the
 * air is heavier) or the other way round. Least squares of the miss in psi on the air's pressure against the
 * calibration.
 */
function followsAir(history: GroupHistory, { line, checks }: LineLife): Finding[] {
  const airAt = ({ elevationFt }: Observation) => (elevationFt === null ? null : atmosphericPsi(elevationFt))
  const home = line.points.map(({ observation }) => airAt(observation)).filter((air) => air !== null)
  if (home.length === 0) return []
  const base = home.reduce((sum, air) => sum + air, 0) / home.length
  const looks = checks.flatMap(({ observation, weightLb, psi: read, varLb2 }) => {
    const air = airAt(observation)
    const missPsi = (weightLb - line.fit.a - line.fit.b * read) / line.fit.b
    return air === null || Math.abs(missPsi) > 5
      ? []
      : [{ air: air - base, missPsi, u: Math.sqrt(varLb2) / line.fit.b, at: observation.takenAt }]
  })
  const airs = looks.map(({ air }) => air)
  const airSpread = Math.max(...airs) - Math.min(...airs)
  if (looks.length < fewestChecks || airSpread < smallestSpreadPsi) return []
  const middle = airs.reduce((sum, air) => sum + air, 0) / airs.length
  let sxx = 0
  let sxy = 0
  for (const { air, missPsi } of looks) {
    sxx += (air - middle) ** 2
    sxy += (air - middle) * missPsi
  }
  const slope = sxy / sxx
  const level = looks.reduce((sum, { missPsi }) => sum + missPsi, 0) / looks.length
  const left =
    looks.reduce((sum, { air, missPsi, u }) => sum + ((missPsi - level - slope * (air - middle)) / u) ** 2, 0) /
    (looks.length - 2)
  // Where the air explains the misses, what is left is noise; a line that is wrong by itself leaves more.
  if (left > mostLeft) return []
  const u =
    (Math.hypot(...looks.map((look) => look.u)) / Math.sqrt(looks.length) / Math.sqrt(sxx)) *
    Math.sqrt(Math.max(1, left))
  if (Math.abs(Math.abs(slope) - 1) > 0.4 || Math.abs(slope) < certainZ * u) return []
  const missesBy = Math.abs(slope) * airSpread
  return [
    groupFinding(
      history,
      'altitude-uncorrected',
      slope < 0 ? 'absolute on record as gauge' : 'gauge on record as absolute',
      { missPsi: missesBy },
      {
        since: (looks[0] as (typeof looks)[number]).at,
        numbers: { misses_by_psi: missesBy, miss_per_air_psi: slope, u, checks: looks.length },
      },
    ),
  ]
}

export function altitudeFindings(history: GroupHistory, life: LineLife): Finding[] {
  const unknown = unknownElevation(history, life)
  return unknown.length > 0 ? unknown : followsAir(history, life)
}

const readingsAsked = 5
const fewestReadings = 3
const frontAndRear = /front|rear|axle|fwd|aft/i

interface Look {
  readonly at: number
  readonly difference: number
  readonly mean: number
}

const isPair = ({ circuits }: GroupHistory) =>
  circuits.length === 2 && !circuits.some(({ name }) => frontAndRear.test(name))

/** The two sides at one reading, gauge psi; undefined unless both were read. */
function lookAt({ circuits }: GroupHistory, observation: Observation): Look | undefined {
  const one = circuitGaugePsi(circuits[0] as CircuitFacts, observation, 0)
  const two = circuitGaugePsi(circuits[1] as CircuitFacts, observation, 1)
  return one === null || two === null
    ? undefined
    : { at: observation.takenAt, difference: one - two, mean: (one + two) / 2 }
}

/** Readings of both sides from the newest back, for as long as `goOn` says so. */
function looksBack(history: GroupHistory, goOn: (looks: readonly Look[], look: Look) => boolean): Look[] {
  const looks: Look[] = []
  for (let place = history.observations.length - 1; place >= 0; place -= 1) {
    const look = lookAt(history, history.observations[place] as Observation)
    if (!look) continue
    if (!goOn(looks, look)) break
    looks.push(look)
  }
  return looks
}

/**
 * Left and right pressures that have differed beyond the House Rules over the last five readings (their median).
 * Circuits named by axle are not sides.
 */
export function sideFindings(history: GroupHistory, rules: HouseRules): Finding[] {
  if (!isPair(history)) return []
  const last = looksBack(history, (looks) => looks.length < readingsAsked)
  if (last.length < fewestReadings) return []
  const difference = median(last.map((look) => look.difference))
  const mean = median(last.map((look) => look.mean))
  const boundAt = (meanPsi: number) => Math.max(rules.sideImbalancePsi, (rules.sideImbalancePercent / 100) * meanPsi)
  const bound = boundAt(mean)
  if (Math.abs(difference) <= bound) return []
  const sign = Math.sign(difference)
  const run = looksBack(history, (looks, look) => looks.length === 0 || look.difference * sign > boundAt(look.mean))
  const [one, two] = history.circuits.map(({ name }) => name) as [string, string]
  const since = (run.at(-1) as Look).at
  return [
    groupFinding(
      history,
      'side-imbalance',
      'circuits',
      {
        from: since,
        high: difference > 0 ? one : two,
        low: difference > 0 ? two : one,
        differencePsi: Math.abs(difference),
        allowedPsi: bound,
      },
      {
        since,
        circuitId: history.circuits[difference > 0 ? 0 : 1]?.circuitId ?? null,
        numbers: { difference_psi: Math.abs(difference), mean_psi: mean, allowed_psi: bound, readings: last.length },
      },
    ),
  ]
}

/** Readings taken with the lift axle otherwise than any line of the group knows, and points of one line that differ. */
export function liftFindings(history: GroupHistory, current: LineLife, lives: readonly LineLife[]): Finding[] {
  const { line, lift } = current
  const mixed = line.points.filter(({ observation }) => !liftsAgree(observation.lift, lift))
  const findings: Finding[] = []
  if (mixed.length > 0) {
    findings.push(
      groupFinding(
        history,
        'lift-state-mismatch',
        'points',
        {
          points: mixed.length,
          calibratedAt: line.calibration.calibratedAt,
          taken: String(mixed[0]?.observation.lift),
          rest: String(lift),
        },
        {
          severity: 'warn',
          since: line.calibration.calibratedAt,
          numbers: { points: mixed.length, calibrated_with: lift },
        },
      ),
    )
  }
  const { calibratedAt } = line.calibration
  const others = history.observations.filter(
    ({ takenAt, lift: state }) =>
      state !== lift &&
      takenAt > calibratedAt &&
      !liftsAgree(state, lift) &&
      !lives.some((life) => liftsAgree(state, life.lift)),
  )
  const [first] = others
  if (first) {
    findings.push(
      groupFinding(
        history,
        'lift-state-mismatch',
        'readings',
        { readings: others.length, from: first.takenAt, taken: String(first.lift), calibrated: String(lift) },
        {
          since: first.takenAt,
          numbers: { readings: others.length, calibrated_with: lift, read_with: first.lift },
        },
      ),
    )
  }
  return findings
}
