import { atLocal, hourMs, stamp } from './clock.ts'
import type { FolderWriter } from './folder-writer.ts'
import { calibrationLoad } from './loading.ts'
import type { Scale } from './scale.ts'
import type { SimUnit } from './unit.ts'
import { weigh, writeWeighing, type Weighing, type Workshop } from './weighing.ts'

/** Shares of the full cargo at which a calibration weighs. */
const calibrationLoads = {
  two: [0, 1],
  three: [0, 0.5, 1],
  four: [0, 0.35, 0.7, 1],
  five: [0, 0.25, 0.5, 0.75, 1],
  /** A day without an empty trailer: loads too close together. */
  short: [0.66, 0.74, 0.82],
} as const
export type CalibrationLoads = keyof typeof calibrationLoads

export interface CalibrationDay {
  readonly day: number
  readonly power: SimUnit
  readonly trailer: SimUnit | null
  /** The units whose sensed groups are calibrated; another unit of the combination is only weighed along. */
  readonly calibrated: readonly SimUnit[]
  readonly loads: CalibrationLoads
  readonly scale: Scale
  readonly by: string
}

/** Weighs a combination at several loads on one day and enters the calibrations; answers the weighings in order. */
export function calibrateOn(folder: FolderWriter, work: CalibrationDay, workshop: Workshop): Weighing[] {
  const { power, trailer, scale } = work
  const { random } = workshop
  const fuelLb = random.between(-500, 500)
  let at = atLocal(work.day, random.between(7, 8))
  const weighings = calibrationLoads[work.loads].map((share) => {
    const load = calibrationLoad(power, trailer, share, fuelLb, random)
    const weighing = weigh({ power, trailer, load, at, elevationFt: scale.elevationFt }, scale, workshop)
    at += Math.round(random.between(1.2, 2.2) * 60) * (hourMs / 60)
    return weighing
  })
  for (const weighing of weighings) writeWeighing(folder, weighing)
  const calibratedAt = stamp(Math.max(...weighings.map(({ readAt }) => readAt)) + 10 * (hourMs / 60))
  for (const unit of work.calibrated) {
    for (const { suspension, model } of unit.groups) {
      if (suspension === null) continue
      for (const { ticket, reading } of weighings) {
        folder.row('calibrations', {
          unit: unit.number,
          group: model.name,
          calibrated_at: calibratedAt,
          by: work.by,
          scale: scale.name,
          ticket,
          reading,
        })
      }
    }
  }
  return weighings
}
