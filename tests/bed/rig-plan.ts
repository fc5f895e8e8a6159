import type { CalibrationLoads } from '#demo/simulation/calibration-day.ts'
import { dayMs } from '#demo/simulation/clock.ts'
import type { Random } from '#demo/simulation/random.ts'
import type { FaultKind } from '#tests/bed/fault-kinds.ts'

/**
 * When a rig (a tractor with its trailer, or a truck) was last calibrated, and when its fault begins, in days before
 * the last day.
 */
export interface RigPlan {
  readonly kind: FaultKind | null
  readonly lastCalibratedDaysAgo: number
  readonly faultDaysAgo: number
  readonly loads: CalibrationLoads
}

const usualLoads = (random: Random): CalibrationLoads =>
  random.weighted([
    ['three', 3],
    ['four', 4],
    ['five', 2],
  ] as const)

/** A fault begins after the last calibration, which would absorb it, and early enough for the evidence to come in. */
export function planRig(kind: FaultKind | null, random: Random): RigPlan {
  const loads = usualLoads(random)
  const plan = (age: number, faultDaysAgo: number, shape: CalibrationLoads = loads): RigPlan => ({
    kind,
    lastCalibratedDaysAgo: age,
    faultDaysAgo,
    loads: shape,
  })
  switch (kind) {
    case null:
    case 'biased-scale':
      return plan(random.whole(10, 330), 0)
    case 'stale': {
      const age = random.whole(380, 520)
      return plan(age, age - 365)
    }
    case 'short-span': {
      const age = random.whole(30, 300)
      return plan(age, age, 'short')
    }
    case 'work-recorded': {
      const age = random.whole(60, 330)
      return plan(age, random.whole(5, age - 15))
    }
    case 'digits-transposed':
    case 'groups-swapped':
    case 'kpa-as-psi':
    case 'sum-mismatch': {
      const age = random.whole(70, 330)
      return plan(age, random.whole(45, Math.min(age - 10, 200)))
    }
    case 'sensor-drift': {
      const age = random.whole(170, 330)
      return plan(age, random.whole(110, age - 30))
    }
    case 'offset-1000-lb':
      return plan(random.whole(130, 330), random.whole(82, 86))
    default: {
      const age = random.whole(120, 330)
      return plan(age, random.whole(75, age - 20))
    }
  }
}

/** Which fault each rig gets: the ordered ones spread at random over the rigs, none to a truck. */
export function dealFaults(
  rigs: number,
  trucks: number,
  faults: Partial<Readonly<Record<FaultKind, number>>>,
  random: Random,
): (FaultKind | null)[] {
  const ordered = Object.entries(faults).flatMap(([kind, count]) =>
    kind === 'biased-scale' ? [] : Array.from({ length: count }, () => kind as FaultKind),
  )
  if (ordered.length > rigs - trucks)
    throw new RangeError(`${ordered.length} faults need as many rigs; there are ${rigs - trucks}`)
  const dealt = random.shuffled([...ordered, ...Array.from({ length: rigs - trucks - ordered.length }, () => null)])
  return [...dealt, ...Array.from({ length: trucks }, () => null)]
}

/** Days on which a rig is calibrated: on fitting, about yearly, and on the last one given. */
export function calibrationDays(firstDay: number, last: number, random: Random): number[] {
  const fitted = firstDay + random.whole(1, 30) * dayMs
  if (last - fitted < 40 * dayMs) return [last]
  const years = Math.ceil((last - fitted) / (362 * dayMs))
  return Array.from({ length: years + 1 }, (_, i) => fitted + Math.round(((last - fitted) * i) / years / dayMs) * dayMs)
}
