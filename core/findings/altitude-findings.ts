import type { LineLife } from '#core/findings/evidence/line-life.ts'
import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { count, psi } from '#core/findings/words.ts'
import type { GroupHistory, Observation } from '#core/fleet/history.ts'
import { atmosphericPsi } from '#core/line/atmosphere.ts'

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
  return [
    groupFinding(history, 'altitude-uncorrected', {
      since: first.takenAt,
      circuitId: circuits[absolute]?.circuitId ?? null,
      numbers: { readings: without.length, per_1000_ft_psi: atmosphericPsi(0) - atmosphericPsi(1000) },
      message: `${count(without.length, 'reading')} of its absolute sensor ${without.length === 1 ? 'has no elevation and was' : 'have no elevation and were'} corrected as at sea level: each 1,000 ft is worth about ${psi(atmosphericPsi(0) - atmosphericPsi(1000))}.`,
      nextStep: 'Enter the elevation of the place with the reading, or of the scale once for all its tickets.',
    }),
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
  const said = slope < 0 ? 'gauge' : 'absolute'
  return [
    groupFinding(history, 'altitude-uncorrected', {
      since: (looks[0] as (typeof looks)[number]).at,
      numbers: { misses_by_psi: missesBy, miss_per_air_psi: slope, u, checks: looks.length },
      message: `Between its lowest and highest scale the line misses by ${psi(missesBy)}, as that of ${said === 'gauge' ? 'an absolute sensor read as gauge' : 'a gauge sensor read as absolute'} does.`,
      nextStep: `Look up the sensor's type; it is on record as ${said}.`,
    }),
  ]
}

export function altitudeFindings(history: GroupHistory, life: LineLife): Finding[] {
  const unknown = unknownElevation(history, life)
  return unknown.length > 0 ? unknown : followsAir(history, life)
}
