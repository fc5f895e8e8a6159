import type { LiftState } from '#core/words/vocabulary.ts'
import type { Random } from './random.ts'
import type { SimGroup, SimUnit } from './unit.ts'

/** What a combination carries at one moment. */
export interface Load {
  readonly cargoLb: number
  /** Where its centre lies, as a share of the way from the kingpin (truck: front axle) to the rear group's centre. */
  readonly centre: number
  /** Fuel and people over or under half a tank and a driver, lb. */
  readonly fuelLb: number
  readonly lift: LiftState
}

const groupCentreFt = ({ model }: SimGroup): number =>
  model.firstAxleFt + ((model.axleSpacingFt ?? 0) * (model.axles - 1)) / 2

/** Fuel sits behind the cab: this share of it on the front axle. */
const fuelOnSteer = 0.45
/** What a lowered pusher axle takes over, and which share of that comes from the drive group. */
const pusherTakesLb = 9_000
const pusherFromDrive = 0.74

/**
 * A kingpin or body load at `positionFt` behind the front axle, split between front axle and drive group by a moment
 * balance.
 */
function place(
  groups: Map<SimGroup, number>,
  steer: SimGroup,
  drive: SimGroup,
  loadLb: number,
  positionFt: number,
): void {
  const onDrive = (loadLb * positionFt) / groupCentreFt(drive)
  groups.set(drive, (groups.get(drive) as number) + onDrive)
  groups.set(steer, (groups.get(steer) as number) + loadLb - onDrive)
}

function byRole(unit: SimUnit, role: string): SimGroup {
  const group = unit.groups.find(({ model }) => model.role === role)
  if (group === undefined) throw new RangeError(`unit ${unit.number} has no ${role} group`)
  return group
}

/** True weight in lb of every axle group of a tractor with its trailer, a bobtail tractor, or a truck. */
export function groupWeightsLb(power: SimUnit, trailer: SimUnit | null, load: Load): Map<SimGroup, number> {
  const weights = new Map<SimGroup, number>()
  for (const unit of trailer === null ? [power] : [power, trailer]) {
    for (const group of unit.groups) weights.set(group, group.tareLb)
  }
  const steer = byRole(power, 'steer')
  const drive = byRole(power, 'drive')
  place(weights, steer, drive, load.fuelLb, (1 - fuelOnSteer) * groupCentreFt(drive))
  if (trailer !== null) {
    const rear = byRole(trailer, 'trailer')
    const onRear = load.cargoLb * load.centre
    weights.set(rear, (weights.get(rear) as number) + onRear)
    const kingpinLb = trailer.kingpinTareLb + load.cargoLb - onRear
    place(weights, steer, drive, kingpinLb, power.model.fifthWheelFt ?? groupCentreFt(drive))
  } else if (power.model.kind === 'truck') {
    place(weights, steer, drive, load.cargoLb, load.centre * groupCentreFt(drive))
  }
  const pusher = power.groups.find(({ model }) => model.role === 'lift')
  if (pusher !== undefined && load.lift === 'lowered') {
    weights.set(pusher, pusherTakesLb)
    weights.set(drive, (weights.get(drive) as number) - pusherTakesLb * pusherFromDrive)
    weights.set(steer, (weights.get(steer) as number) - pusherTakesLb * (1 - pusherFromDrive))
  }
  return weights
}

/** The unit that carries the cargo, or undefined for a bobtail. */
const carrier = (power: SimUnit, trailer: SimUnit | null): SimUnit | undefined =>
  trailer ?? (power.model.kind === 'truck' ? power : undefined)

const liftless = (power: SimUnit): LiftState =>
  power.groups.some(({ model }) => model.role === 'lift') ? 'raised' : 'none'

/** A day's load: empty, part or full; `heaviness` over 1 makes full loads heavier. */
export function dailyLoad(power: SimUnit, trailer: SimUnit | null, heaviness: number, random: Random): Load {
  const full = carrier(power, trailer)?.model
  const fill = random.weighted([
    ['empty', 22],
    ['part', 30],
    ['full', 48],
  ] as const)
  const share =
    fill === 'empty'
      ? 0
      : fill === 'part'
        ? random.between(0.25, 0.8)
        : Math.min(1.06, 0.955 + random.clippedNormal(0.035, 0.1))
  return {
    cargoLb: (full?.fullCargoLb ?? 0) * share * (fill === 'full' ? heaviness : 1),
    centre: (full?.cargoCentre ?? 0.5) + random.clippedNormal(0.018, 0.045),
    fuelLb: random.between(-700, 700),
    lift: liftless(power),
  }
}

/** A load chosen for a calibration: a share of the full cargo, placed with care. */
export function calibrationLoad(
  power: SimUnit,
  trailer: SimUnit | null,
  share: number,
  fuelLb: number,
  random: Random,
): Load {
  const full = carrier(power, trailer)?.model
  return {
    cargoLb: (full?.fullCargoLb ?? 0) * share * (1 + random.clippedNormal(0.01, 0.02)),
    centre: (full?.cargoCentre ?? 0.5) + random.clippedNormal(0.006, 0.012),
    fuelLb,
    lift: liftless(power),
  }
}
