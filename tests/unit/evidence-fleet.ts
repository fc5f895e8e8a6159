import { type FleetEstimates, estimatesFromRules } from '#core/evidence/estimates.ts'
import type { FleetRecord, GroupHistory, Observation, ScaleFacts } from '#core/evidence/history.ts'
import { lineLives } from '#core/evidence/line-life.ts'
import type { GroupLife } from '#core/evidence/scales/stretch.ts'
import { monthMs } from '#core/line/track.ts'
import { type HouseRules, defaultHouseRules } from '#core/words/house-rules.ts'
import { Random } from '#demo/simulation/random.ts'
import { calibratedAt, calibration, circuit, history, mount } from '#tests/unit/group-history.ts'
import { scaleFacts } from '#tests/fleet/facts.ts'

export interface FleetTruth {
  readonly seed: string
  readonly groups: number
  readonly levelingPsi: number
  readonly wanderPsi: number
  /** Gain of each scale; all groups are calibrated on the first `homes`. */
  readonly gains: readonly number[]
  /** The gains after so many months, where they change. */
  readonly later?: { readonly months: number; readonly gains: readonly number[] }
  readonly homes: number
  readonly months: number
  /** What a sensor that went off reads too low, psi, in the first so many groups, from their first check on. */
  readonly offPsi?: number
  readonly offGroups?: number
}

const emptyPsi = 14
const limitPsi = 60
const dayMs = 86_400_000

/** The rules under which the simulated tickets are right: 20 lb divisions and 40 lb of repeatability. */
export const fleetRules: HouseRules = { ...defaultHouseRules }

/**
 * A fleet made exactly as the engine believes fleets to be: straight lines whose weights at empty and limit wander as
 * two walks with a correlation of one half, pressures that scatter by leveling alone, scales with a gain of their own.
 */
export function modelFleet({
  seed,
  groups,
  levelingPsi,
  wanderPsi,
  gains,
  later,
  homes,
  months,
  offPsi = 0,
  offGroups = 0,
}: FleetTruth): FleetRecord {
  const scales = new Map(
    gains.map((_, i): [number, ScaleFacts] => [
      i + 1,
      scaleFacts({ scaleId: i + 1, name: `Scale ${i + 1}`, elevationFt: 800 }),
    ]),
  )
  let readingId = 0
  const made = Array.from({ length: groups }, (_, g): GroupHistory => {
    const random = new Random(`${seed} ${g}`)
    const slope = random.between(380, 520)
    const truth = { empty: random.between(9000, 12_000), limit: 0 }
    truth.limit = truth.empty + slope * (limitPsi - emptyPsi)
    const weigh = (takenAt: number, psi: number, scaleId: number, off: number): Observation => {
      const share = (psi - emptyPsi) / (limitPsi - emptyPsi)
      const weight = (1 - share) * truth.empty + share * truth.limit
      const gainsNow = later && takenAt > calibratedAt + later.months * monthMs ? later.gains : gains
      const shown = weight * (1 + (gainsNow[scaleId - 1] as number)) + random.normal(40)
      readingId += 1
      return {
        readingId,
        takenAt,
        elevationFt: 800,
        temperatureF: null,
        lift: null,
        psi: [Math.round((psi + random.normal(levelingPsi) - off) * 10) / 10],
        ticketId: readingId + 100_000,
        scaleId,
        weightLb: Math.round(shown / 20) * 20,
      }
    }
    const home = 1 + (g % homes)
    const points = [14, 30, 46, 60].map((psi) => weigh(calibratedAt, psi, home, 0))
    const observations: Observation[] = []
    let at = calibratedAt
    for (;;) {
      const step = random.between(10, 22) * dayMs
      at += step
      if (at > calibratedAt + months * monthMs) break
      const sd = slope * wanderPsi * Math.sqrt(step / monthMs)
      const first = random.normal(1)
      truth.empty += sd * first
      truth.limit += sd * (0.5 * first + Math.sqrt(0.75) * random.normal(1))
      observations.push(weigh(at, random.between(16, 64), random.whole(1, gains.length), g < offGroups ? offPsi : 0))
    }
    return history({
      groupId: g + 1,
      unitId: g + 1,
      unit: `T-${g + 1}`,
      circuits: [circuit({ circuitId: g + 1, mounts: [mount({ serial: `S-${g + 1}` })] })],
      calibrations: [calibration({ calibrationId: g + 1, points })],
      observations,
    })
  })
  return { groups: made, scales, tickets: new Map() }
}

/** The lines of all groups of a fleet, each with the id of its group. */
export function livesOf(
  { groups, scales }: FleetRecord,
  rules: HouseRules = fleetRules,
  estimates: FleetEstimates = estimatesFromRules(rules),
): GroupLife[] {
  return groups.flatMap((group) =>
    lineLives(group, { rules, scales, estimates }).map((life) => ({ groupId: group.groupId, life })),
  )
}
