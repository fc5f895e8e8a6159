import { calibrateOn, type CalibrationDay } from './calibration-day.ts'
import { atLocal, dayMs } from './clock.ts'
import type { FolderWriter } from './folder-writer.ts'
import { dailyLoad } from './loading.ts'
import type { Logbook } from './logbook.ts'
import type { Scale } from './scale.ts'
import type { SimUnit } from './unit.ts'
import { weigh, writeWeighing, type Weighing, type Workshop } from './weighing.ts'

/** How a fleet lives from one day to another (both UTC midnights, the last one included). */
export interface OperatingPlan {
  readonly from: number
  readonly until: number
  /** Tractors and trucks, each with the days between two check weighings. */
  readonly powers: readonly SimUnit[]
  readonly checkEveryDays: readonly [fewest: number, most: number]
  /** Readings on the road without a ticket, a day and power unit. */
  readonly readingsPerDay: number
  readonly calibrations: readonly CalibrationDay[]
  /** Things that happen to units, at their time and before anything later is read. */
  readonly happenings: readonly { readonly at: number; readonly act: () => void }[]
  /** The trailer for a trip; null: none needed; undefined: none to be had today. */
  readonly chooseTrailer: (power: SimUnit, day: number, busy: ReadonlySet<SimUnit>) => SimUnit | null | undefined
  readonly chooseScale: (power: SimUnit) => Scale
  readonly heaviness: (power: SimUnit) => number
  readonly roadElevationFt: (power: SimUnit) => number
  /** May change a check weighing or reading before it goes into the record. */
  readonly beforeWriting?: (weighing: Weighing) => void
  /** May settle a load, such as a lowered lift axle. */
  readonly settleLoad?: (power: SimUnit, at: number, load: ReturnType<typeof dailyLoad>) => ReturnType<typeof dailyLoad>
}

/** Runs the fleet day by day and writes what its people would have recorded. */
export function operate(folder: FolderWriter, logbook: Logbook, plan: OperatingPlan, workshop: Workshop): void {
  const { random } = workshop
  const nextCheck = new Map<SimUnit, number>()
  const calibrations = Map.groupBy(plan.calibrations, ({ day }) => day)
  const happenings = plan.happenings.toSorted((a, b) => a.at - b.at)
  let happened = 0
  const happenUpTo = (at: number) => {
    for (let next = happenings[happened]; next !== undefined && next.at <= at; next = happenings[happened]) {
      next.act()
      happened += 1
    }
  }

  const stop = (power: SimUnit, trailer: SimUnit | null, at: number, scale: Scale | null): void => {
    const drawn = dailyLoad(power, trailer, plan.heaviness(power), random)
    const load = plan.settleLoad?.(power, at, drawn) ?? drawn
    const elevationFt = scale?.elevationFt ?? plan.roadElevationFt(power)
    const weighing = weigh({ power, trailer, load, at, elevationFt }, scale, workshop)
    weighing.pressures = weighing.pressures.filter(({ group }) => !logbook.isSilent(group, weighing.readAt))
    plan.beforeWriting?.(weighing)
    writeWeighing(folder, weighing)
  }

  for (let day = plan.from; day <= plan.until; day += dayMs) {
    const today = calibrations.get(day) ?? []
    const busy = new Set(today.flatMap(({ power, trailer }) => (trailer === null ? [power] : [power, trailer])))
    const agenda = today.map((work) => ({
      at: atLocal(day, 6.5),
      run: () => {
        calibrateOn(folder, work, workshop)
      },
    }))
    for (const power of plan.powers) {
      if (busy.has(power)) {
        nextCheck.set(power, day + random.whole(...plan.checkEveryDays) * dayMs)
        continue
      }
      if (power.fittedAt === null || power.fittedAt > day) continue
      const due = (nextCheck.get(power) ?? day) <= day
      if (!due && !random.chance(plan.readingsPerDay)) continue
      const trailer = plan.chooseTrailer(power, day, busy)
      if (trailer === undefined) continue
      const scale = due ? plan.chooseScale(power) : null
      const at = atLocal(day, random.between(6, 19))
      agenda.push({
        at,
        run: () => {
          stop(power, trailer, at, scale)
        },
      })
      if (due) nextCheck.set(power, day + random.whole(...plan.checkEveryDays) * dayMs)
    }
    for (const { at, run } of agenda.toSorted((a, b) => a.at - b.at)) {
      happenUpTo(at)
      run()
    }
  }
  happenUpTo(plan.until + dayMs)
}
