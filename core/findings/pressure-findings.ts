import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import { type GroupLine, type GroupLines, type RefusedCalibration, lineAt } from '#core/evidence/line-in-use.ts'
import { liftFits } from '#core/evidence/lift.ts'
import type { LineLife } from '#core/evidence/line-life.ts'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { type NoPressure, circuitPressure, mountAt, readPressure } from '#core/evidence/read-pressure.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { doublings } from '#core/findings/set-aside.ts'
import { median } from '#core/line/statistics.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

const fewestChecks = 6
const smallestSpreadPsi = 0.7
const certainZ = 5
const mostLeft = 2

/** An observation that an absolute sensor showed at an elevation that nobody knows. */
interface Uncorrected {
  readonly observation: Observation
  readonly circuitId: number | null
}

const circuitOf = (found: NoPressure): number | null => found.circuit?.circuitId ?? null

/** The points of a calibration that have no pressure because their elevation is not known. */
function uncorrectedPoints(history: GroupHistory, { calibration, problem }: RefusedCalibration): Uncorrected[] {
  if (problem.code !== 'elevation-unknown') return []
  return calibration.points.flatMap((observation) => {
    const found = history.circuits
      .map((_, place) => circuitPressure(history, place, observation))
      .find((read) => 'reason' in read && read.reason === 'elevation unknown')
    return found && 'reason' in found ? [{ observation, circuitId: circuitOf(found) }] : []
  })
}

/** The observations since the lines in use hold that have no pressure for the line that applies to them. */
function uncorrectedSince(
  history: GroupHistory,
  { lines }: GroupLines,
  since: number,
  rules: HouseRules,
): Uncorrected[] {
  const feelsAir = history.circuits.some(({ mounts }) => mounts.some(({ reference }) => reference === 'absolute'))
  if (!feelsAir) return []
  return history.observations.flatMap((observation) => {
    if (observation.elevationFt !== null || observation.takenAt < since) return []
    const line = lineAt(lines, observation)
    if ('reason' in line) return []
    const read = readPressure(history, line, observation, rules.pressureResolutionPsi)
    return 'reason' in read && read.reason === 'elevation unknown' ? [{ observation, circuitId: circuitOf(read) }] : []
  })
}

/**
 * What an absolute sensor showed at an unknown elevation: nobody has a pressure for it, so it makes no line, tests none
 * and is not weighed. A note where only readings without a ticket are lost by it.
 */
function unknownElevation(
  history: GroupHistory,
  lines: GroupLines,
  inUse: readonly GroupLine[],
  rules: HouseRules,
): Finding[] {
  const newest = lines.lines.at(-1)?.calibration.calibratedAt ?? Number.NEGATIVE_INFINITY
  const points = lines.refused
    .filter(({ calibration }) => calibration.calibratedAt >= newest)
    .flatMap((refused) => uncorrectedPoints(history, refused))
  const since = Math.min(...inUse.map(({ holdsFrom }) => holdsFrom))
  const lost = [...points, ...uncorrectedSince(history, lines, since, rules)]
  const without = [...new Map(lost.map((each) => [each.observation.readingId, each])).values()]
  const [first] = without.sort((p, q) => p.observation.takenAt - q.observation.takenAt)
  if (!first) return []
  const per1000FtPsi = atmosphericPsi(0) - atmosphericPsi(1000)
  return [
    groupFinding(
      history,
      'altitude-uncorrected',
      'no elevation',
      { readings: without.length, psiPerFt: per1000FtPsi / 1000 },
      {
        severity: without.some(({ observation }) => observation.weightLb !== null) ? 'warn' : 'note',
        since: first.observation.takenAt,
        circuitId: first.circuitId,
        restsOn: `${first.observation.readingId}/${doublings(without.length, 1)}`,
        numbers: { readings: without.length, per_1000_ft_psi: per1000FtPsi },
      },
    ),
  ]
}

/**
 * Readings of an absolute sensor for which the yard's elevation stands in: they were taken who knows how far from it.
 */
function assumedElevation(history: GroupHistory, { lines }: GroupLines): Finding[] {
  const since = lines.at(-1)?.calibration.calibratedAt ?? Number.POSITIVE_INFINITY
  const feelsAir = ({ takenAt, psi }: Observation) =>
    history.circuits.some(
      (circuit, place) => (psi[place] ?? null) !== null && mountAt(circuit, takenAt)?.reference === 'absolute',
    )
  const readings = history.observations.filter((observation) => observation.takenAt > since && feelsAir(observation))
  const assumed = readings.filter(({ elevationAssumed }) => elevationAssumed === true)
  const [first] = assumed
  if (first === undefined) return []
  const per1000FtPsi = atmosphericPsi(0) - atmosphericPsi(1000)
  return [
    groupFinding(
      history,
      'altitude-uncorrected',
      'yard stands in',
      { readings: assumed.length, from: first.takenAt, psiPerFt: per1000FtPsi / 1000 },
      {
        // Where the newest one has none either, nobody knows what it weighs now.
        severity: assumed.at(-1) === readings.at(-1) ? 'warn' : 'note',
        since: first.takenAt,
        restsOn: `${first.readingId}/${doublings(assumed.length, 1)}`,
        numbers: { readings: assumed.length, per_1000_ft_psi: per1000FtPsi },
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
  const [first] = looks
  if (!first || looks.length < fewestChecks || airSpread < smallestSpreadPsi) return []
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
        since: first.at,
        restsOn: [
          line.calibration.calibrationId,
          slope < 0 ? 'gauge' : 'absolute',
          doublings(missesBy, smallestSpreadPsi),
        ].join('/'),
        numbers: { misses_by_psi: missesBy, miss_per_air_psi: slope, u, checks: looks.length },
      },
    ),
  ]
}

/** What the air does to the pressures of a group: readings without their elevation, else lines that follow the air. */
export function altitudeFindings(
  history: GroupHistory,
  lines: GroupLines,
  inUse: readonly LineLife[],
  rules: HouseRules,
): Finding[] {
  const unknown = unknownElevation(
    history,
    lines,
    inUse.map(({ line }) => line),
    rules,
  )
  return unknown.length > 0
    ? unknown
    : [...assumedElevation(history, lines), ...inUse.flatMap((life) => followsAir(history, life))]
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

/** The two sides at one reading, gauge psi; undefined unless both have a pressure. */
function lookAt(history: GroupHistory, observation: Observation): Look | undefined {
  const one = circuitPressure(history, 0, observation)
  const two = circuitPressure(history, 1, observation)
  return 'reason' in one || 'reason' in two
    ? undefined
    : { at: observation.takenAt, difference: one.psi - two.psi, mean: (one.psi + two.psi) / 2 }
}

/** Readings of both sides from the newest back, for as long as `goOn` says so. */
function looksBack(history: GroupHistory, goOn: (looks: readonly Look[], look: Look) => boolean): Look[] {
  const looks: Look[] = []
  for (let place = history.observations.length - 1; place >= 0; place -= 1) {
    const observation = history.observations[place]
    const look = observation && lookAt(history, observation)
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
  const [one, two] = history.circuits.map(({ name }) => name)
  const since = run.at(-1)?.at
  if (since === undefined || one === undefined || two === undefined) return []
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
        // Work on record since gives the imbalance another meaning.
        restsOn: `${doublings(difference, bound)}/${history.events.length}`,
        circuitId: history.circuits[difference > 0 ? 0 : 1]?.circuitId ?? null,
        numbers: { difference_psi: Math.abs(difference), mean_psi: mean, allowed_psi: bound, readings: last.length },
      },
    ),
  ]
}

/** The state in which most points of a line were taken, the first of two as many. */
function usualLift(states: readonly (LiftState | null)[]): 'raised' | 'lowered' {
  const raised = states.filter((lift) => lift === 'raised').length
  const lowered = states.filter((lift) => lift === 'lowered').length
  if (raised !== lowered) return raised > lowered ? 'raised' : 'lowered'
  return states.find((lift) => lift === 'raised' || lift === 'lowered') === 'lowered' ? 'lowered' : 'raised'
}

/** A line whose points were taken in both lift states, which nothing can be weighed with. */
export function mixedLiftFindings(history: GroupHistory, { points, calibration, lift }: GroupLine): Finding[] {
  if (lift !== 'both') return []
  const states = points.map(({ observation }) => observation.lift)
  const usual = usualLift(states)
  const odd = states.filter((state) => !liftFits(usual, state))
  return [
    groupFinding(
      history,
      'lift-state-mismatch',
      'points',
      { points: odd.length, calibratedAt: calibration.calibratedAt, taken: odd[0] ?? null, rest: usual },
      {
        severity: 'warn',
        since: calibration.calibratedAt,
        restsOn: `${calibration.calibrationId}/${states.join('/')}`,
        numbers: { points: odd.length, calibrated_with: usual },
      },
    ),
  ]
}

/**
 * Readings since the newest calibration that were taken with the lift axle otherwise than any line of the group knows.
 */
export function otherLiftFindings(history: GroupHistory, lines: readonly GroupLine[]): Finding[] {
  const newest = lines.at(-1)
  if (!newest) return []
  const known = lines.findLast(({ lift }) => lift === 'raised' || lift === 'lowered')
  const others = history.observations.filter(({ takenAt, lift }) => {
    if (takenAt <= newest.calibration.calibratedAt) return false
    const line = lineAt(lines, { takenAt: Number.POSITIVE_INFINITY, lift })
    return 'reason' in line && line.reason === 'other lift state'
  })
  const [first] = others
  if (!first || !known) return []
  const last = history.observations.findLast(({ lift }) => lift === 'raised' || lift === 'lowered')
  return [
    groupFinding(
      history,
      'lift-state-mismatch',
      'readings',
      { readings: others.length, from: first.takenAt, taken: first.lift, calibrated: known.lift },
      {
        // Where it stands so now, nothing can be weighed.
        severity: others.at(-1) === last ? 'warn' : 'note',
        since: first.takenAt,
        restsOn: `${known.calibration.calibrationId}/${first.lift}/${doublings(others.length, 1)}`,
        numbers: { readings: others.length, calibrated_with: known.lift, read_with: first.lift },
      },
    ),
  ]
}
