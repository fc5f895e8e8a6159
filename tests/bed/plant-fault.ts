import type { EventKind } from '#core/words/vocabulary.ts'
import { stamp } from '#demo/simulation/clock.ts'
import type { Logbook } from '#demo/simulation/logbook.ts'
import type { Random } from '#demo/simulation/random.ts'
import { type Sensor, makeSensor } from '#demo/simulation/sensor.ts'
import { mistypeGross, readInKilopascals, swapGroups, transposeDigits } from '#demo/simulation/slips.ts'
import type { Suspension } from '#demo/simulation/suspension.ts'
import { type SimGroup, type SimUnit, sensedGroup } from '#demo/simulation/unit.ts'
import type { Weighing } from '#demo/simulation/weighing.ts'
import { type FaultKind, type PlantedFault, faultSizes } from '#tests/bed/fault-kinds.ts'

export interface FaultSite {
  readonly power: SimUnit
  readonly trailer: SimUnit | null
  readonly at: number
  readonly logbook: Logbook
  readonly random: Random
  readonly nextSensorNumber: () => number
}

/** A fault ready to happen: an act at its time, or a slip that waits for the first ticket that shows it. */
export interface ReadyFault {
  readonly act?: () => void
  readonly slip?: (weighing: Weighing) => boolean
  /** What was planted, once it has happened. */
  readonly planted: (weighing: Weighing | null) => PlantedFault[]
}

const signed = ([low, high]: readonly [number, number], random: Random): number =>
  random.between(low, high) * random.sign()
const digits = (value: number, places: number): string => value.toFixed(places)

const record = (
  kind: FaultKind,
  unit: SimUnit,
  group: SimGroup,
  at: number,
  what: string,
  weighing: Weighing | null = null,
): PlantedFault => ({
  kind,
  unit: unit.number,
  group: group.model.name,
  scale: weighing?.scale?.name ?? null,
  ticket: weighing?.ticket ?? null,
  startedAt: new Date(weighing?.at ?? at).toISOString(),
  what,
})

/**
 * What different work does to a line, recorded or not: another ride height or spring changes its slope, another sensor
 * its offset.
 */
function work(
  site: FaultSite,
  unit: SimUnit,
  group: SimGroup,
  recorded: boolean,
): { kind: EventKind; act: () => void } {
  const { random, at, logbook, nextSensorNumber } = site
  const suspension = group.suspension as Suspension
  const kind = random.pick(['valve replaced', 'height set', 'spring replaced', 'sensor swapped'] as const)
  if (kind !== 'sensor swapped') {
    const share = signed(faultSizes.slopeShare, random)
    return {
      kind,
      act: () => {
        suspension.slopeLbPerPsi *= 1 + share
      },
    }
  }
  const offset = signed(faultSizes.offsetPsi, random)
  const index = random.whole(0, group.sensors.length - 1)
  const old = group.sensors[index] as Sensor
  const fresh = {
    ...makeSensor(nextSensorNumber(), old.reference === 'absolute' ? 1 : 0, random),
    offsetPsi: old.offsetPsi + offset,
    gain: old.gain,
  }
  return {
    kind,
    act: () => {
      logbook.swap(unit, group, index, fresh, at, recorded)
    },
  }
}

/** Makes one fault ready on one rig. Faults of a vehicle hit the tractor or the trailer, either alike. */
export function readyFault(kind: FaultKind, site: FaultSite): ReadyFault {
  const { power, trailer, at, random, logbook } = site
  const unit = kind === 'side-imbalance' ? power : random.pick(trailer === null ? [power] : [power, trailer])
  const group = sensedGroup(unit)
  const suspension = group.suspension as Suspension
  const one = (what: string) => (weighing: Weighing | null) => [record(kind, unit, group, at, what, weighing)]
  const both = (what: string) => (weighing: Weighing | null) =>
    (trailer === null ? [power] : [power, trailer]).map((each) =>
      record(kind, each, sensedGroup(each), at, what, weighing),
    )
  const shift = (psi: number) => ({
    act: () => {
      random.pick(group.sensors).offsetPsi += psi
    },
    planted: one(`one sensor reads ${digits(psi, 1)} psi off`),
  })
  switch (kind) {
    case 'sensor-offset':
      return shift(signed(faultSizes.offsetPsi, random))
    case 'offset-1000-lb': {
      const psi = (faultSizes.offsetWorthLb / suspension.slopeLbPerPsi) * random.sign()
      return {
        act: () => {
          for (const sensor of group.sensors) sensor.offsetPsi += psi
        },
        planted: one(`all sensors read ${digits(psi, 1)} psi off`),
      }
    }
    case 'slope-change': {
      const share = signed(faultSizes.slopeShare, random)
      return {
        act: () => {
          suspension.slopeLbPerPsi *= 1 + share
        },
        planted: one(`slope ${digits(share * 100, 1)} % other`),
      }
    }
    case 'sensor-drift': {
      const psiPerMonth = signed(faultSizes.driftPsiPerMonth, random)
      return {
        act: () => {
          for (const sensor of group.sensors) sensor.drift = { from: at, psiPerMonth }
        },
        planted: one(`drifts ${digits(psiPerMonth, 2)} psi a month`),
      }
    }
    case 'side-imbalance': {
      const share = signed(faultSizes.sideShare, random)
      return {
        act: () => {
          suspension.circuitExcess = [share, -share]
        },
        planted: one(`left ${digits(share * 200, 0)} % over right`),
      }
    }
    case 'work-recorded': {
      const { kind: event, act } = work(site, unit, group, true)
      return {
        act: () => {
          act()
          logbook.event(unit, group, null, at, event, null)
        },
        planted: one(`${event}, recorded ${stamp(at)}`),
      }
    }
    case 'work-unrecorded': {
      const { kind: event, act } = work(site, unit, group, false)
      return { act, planted: one(`${event}, not recorded`) }
    }
    case 'stale':
      return { planted: both('calibrated more than a year ago') }
    case 'short-span':
      return { planted: both('calibrated between two thirds and four fifths of a load') }
    case 'digits-transposed': {
      const withoutGross = random.chance(0.5)
      return {
        slip: (weighing) => {
          const slipped = transposeDigits(weighing, group, faultSizes.transposedAtLeastLb, random)
          if (slipped && withoutGross) weighing.grossLb = null
          return slipped
        },
        planted: one(`two digits changed over${withoutGross ? ', no gross noted' : ''}`),
      }
    }
    case 'groups-swapped': {
      const other =
        trailer === null ? (power.groups.find(({ model }) => model.role === 'steer') as SimGroup) : sensedGroup(trailer)
      return {
        slip: (weighing) => swapGroups(weighing, sensedGroup(power), other, faultSizes.swappedAtLeastLb),
        planted: both('groups in each other’s place'),
      }
    }
    case 'kpa-as-psi':
      return { slip: (weighing) => readInKilopascals(weighing, group), planted: one('pressure noted in kPa') }
    case 'sum-mismatch': {
      const byLb = Math.round(signed(faultSizes.grossOffLb, random) / 20) * 20
      return { slip: (weighing) => mistypeGross(weighing, byLb), planted: one(`gross ${byLb} lb off the sum`) }
    }
    case 'biased-scale':
      throw new RangeError('a biased scale is no fault of a rig')
  }
}
