import { lastCalibratedDaysAgo, lastLoads } from './demo-troubles.ts'
import type { CalibrationDay, CalibrationLoads } from './simulation/calibration-day.ts'
import { dayMs } from './simulation/clock.ts'
import type { Random } from './simulation/random.ts'
import type { Scale } from './simulation/scale.ts'
import type { SimUnit } from './simulation/unit.ts'

/** Who signs calibrations at each yard; invented. */
const signers: Readonly<Record<string, readonly string[]>> = {
  'Cinder Gap': ['P. Quist', 'M. Adair'],
  'Larch Hollow': ['D. Sorrow'],
  'Salt Bend': ['J. Winterbourn', 'L. Pike'],
}

export interface Rig {
  readonly power: SimUnit
  readonly trailer: SimUnit | null
}

interface UnitDate {
  readonly day: number
  readonly loads: CalibrationLoads
}

const usualLoads = (random: Random): CalibrationLoads =>
  random.weighted([
    ['three', 3],
    ['four', 4],
    ['five', 2],
  ] as const)

/**
 * The calibrations of one rig: on fitting, about yearly, and last some weeks or months ago. A unit whose last date the
 * story sets goes its own way for that one.
 */
function rigDates(
  { power, trailer }: Rig,
  firstDay: number,
  lastDay: number,
  random: Random,
): Map<SimUnit, UnitDate[]> {
  const fitted = firstDay + random.whole(2, 62) * dayMs
  const usualAge = random.whole(14, 315)
  const loads = usualLoads(random)
  const dates = new Map<SimUnit, UnitDate[]>()
  for (const unit of trailer === null ? [power] : [power, trailer]) {
    const told = lastCalibratedDaysAgo[unit.number]
    if (told === null) continue
    const last = lastDay - (told ?? usualAge) * dayMs
    const years = Math.max(1, Math.ceil((last - fitted) / (362 * dayMs)))
    const days = Array.from(
      { length: years + 1 },
      (_, i) => fitted + Math.round(((last - fitted) * i) / years / dayMs) * dayMs,
    )
    dates.set(
      unit,
      days.map((day, i) => ({ day, loads: i === years ? (lastLoads[unit.number] ?? loads) : loads })),
    )
  }
  return dates
}

/** All calibration days of the demo fleet, each on the scale of the power unit's yard. */
export function planCalibrations(
  rigs: readonly Rig[],
  scaleOf: (yard: string) => Scale,
  firstDay: number,
  lastDay: number,
  random: Random,
): CalibrationDay[] {
  const work: CalibrationDay[] = []
  for (const rig of rigs) {
    const own = random.fork(`${rig.power.number}/${rig.trailer?.number ?? ''}`)
    const dates = rigDates(rig, firstDay, lastDay, own)
    const byDay = Map.groupBy(
      [...dates].flatMap(([unit, list]) => list.map((date) => ({ unit, ...date }))),
      ({ day, loads }) => `${day}/${loads}`,
    )
    for (const together of byDay.values()) {
      const { day, loads } = together[0] as (typeof together)[number]
      work.push({
        day,
        loads,
        power: rig.power,
        trailer: rig.trailer,
        calibrated: together.map(({ unit }) => unit),
        scale: scaleOf(rig.power.yard),
        by: own.pick(signers[rig.power.yard] ?? ['Shop']),
      })
    }
  }
  return work
}
