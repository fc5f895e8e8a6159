import { dayMs, hourMs } from './simulation/clock.ts'
import type { CalibrationLoads } from './simulation/calibration-day.ts'
import type { Load } from './simulation/loading.ts'
import type { Logbook } from './simulation/logbook.ts'
import type { Random } from './simulation/random.ts'
import { makeSensor, type Sensor } from './simulation/sensor.ts'
import { mistypeGross, readInKilopascals, swapGroups, transposeDigits } from './simulation/slips.ts'
import type { Suspension } from './simulation/suspension.ts'
import { sensedGroup, type SimUnit } from './simulation/unit.ts'
import type { Weighing } from './simulation/weighing.ts'

/**
 * What is wrong in the demo fleet and when, in days before the last day. `demo-data/README.md` tells the same to users:
 * keep them together.
 */

/** How many days ago a unit was last calibrated, where the story needs it; null: never. */
export const lastCalibratedDaysAgo: Readonly<Record<string, number | null>> = {
  'T-104': 190,
  'T-108': 130,
  'T-111': 215,
  'T-114': 149,
  'T-117': 120,
  'T-119': 160,
  'T-123': 402,
  'T-126': 100,
  'T-128': 344,
  'T-130': 88,
  'T-133': 170,
  'T-136': 205,
  'K-02': 180,
  'V-209': 230,
  'V-215': 145,
  'V-218': 165,
  'V-221': 199,
  'V-228': null,
  'F-303': 140,
  'F-306': 349,
  'H-402': 175,
  'H-405': 391,
}

export const lastLoads: Readonly<Record<string, CalibrationLoads>> = { 'T-130': 'two', 'F-303': 'short' }

/** V-228 got its sensor this many days ago and was never calibrated. */
export const fittedDaysAgo: Readonly<Record<string, number>> = { 'V-228': 118 }

/**
 * Units with absolute sensors; the others of V-218's yard have none, so that its missing elevations trouble nobody
 * else.
 */
export const absoluteUnits: ReadonlySet<string> = new Set(['V-218', 'T-103', 'T-113', 'T-139', 'F-308'])

/** Units that habitually load heavy. */
export const heavyUnits: Readonly<Record<string, number>> = {
  'T-105': 1.1,
  'T-121': 1.07,
  'T-134': 1.06,
  'K-03': 1.035,
}

interface Setting {
  readonly lastDay: number
  readonly unit: (number: string) => SimUnit
  readonly logbook: Logbook
  readonly random: Random
}

/** Troubles of vehicles and sensors, and the ordinary work beside them. */
export function demoHappenings({ lastDay, unit, logbook, random }: Setting): { at: number; act: () => void }[] {
  const ago = (days: number, hour = 17) => lastDay - days * dayMs + (hour + 7) * hourMs
  const suspension = (number: string): Suspension => sensedGroup(unit(number)).suspension as Suspension
  const happen = (days: number, act: (at: number) => void, hour?: number) => ({
    at: ago(days, hour),
    act: () => {
      act(ago(days, hour))
    },
  })
  const work = (
    number: string,
    days: number,
    kind: Parameters<Logbook['event']>[4],
    note: string,
    act: (at: number) => void = () => undefined,
  ) =>
    happen(days, (at) => {
      act(at)
      const repaired = unit(number)
      logbook.event(
        repaired,
        kind === 'body work' || kind === 'other' ? null : sensedGroup(repaired),
        null,
        at,
        kind,
        note,
      )
    })
  return [
    work('T-104', 47, 'valve replaced', 'Leveling valve leaked down overnight, new one fitted', () => {
      suspension('T-104').slopeLbPerPsi *= 0.955
    }),
    happen(132, (at) => {
      ;(sensedGroup(unit('T-111')).sensors[0] as Sensor).drift = { from: at, psiPerMonth: 0.65 }
    }),
    happen(86, () => {
      suspension('V-209').slopeLbPerPsi *= 1.085
    }),
    happen(74, () => {
      suspension('T-136').circuitExcess = [0.12, -0.12]
    }),
    happen(265, () => {
      suspension('T-126').slopeLbPerPsi *= 0.93
    }),
    work('T-114', 150, 'sensor swapped', 'Old sensor stopped reporting', (at) => {
      const group = sensedGroup(unit('T-114'))
      group.sensors.forEach((_, i) => {
        logbook.swap(unit('T-114'), group, i, makeSensor(2_210 + i, 0, random), at, true)
      })
    }),
    work('V-221', 200, 'spring replaced', 'Right rear air spring chafed through, both rear springs replaced', () => {
      suspension('V-221').slopeLbPerPsi *= 1.04
    }),
    work('T-107', 305, 'air line repaired', 'Chafed line behind the crossmember'),
    work('V-212', 288, 'body work', 'Door frame straightened'),
    work('F-302', 240, 'other', 'Load straps and winches replaced'),
    work('T-131', 222, 'air line repaired', 'Fitting at the tank tightened'),
    work('V-205', 176, 'body work', 'Nose panel patched'),
    work('H-403', 131, 'air line repaired', 'Gladhand seals replaced'),
    work('T-112', 96, 'other', 'Windshield replaced'),
    work('V-224', 61, 'body work', 'Roof bow replaced'),
    work('K-04', 52, 'other', 'Hydraulic hose of the lift gate replaced'),
    work('T-138', 24, 'air line repaired', 'Line to the drive springs rerouted away from the exhaust'),
  ]
}

/** Sensors whose cells are known: dead since, or new since, so many days. */
export function settleCells({ lastDay, unit, logbook }: Setting): void {
  logbook.die(unit('T-119'), lastDay - 31 * dayMs)
  logbook.die(unit('H-402'), lastDay - 12 * dayMs)
}

/** Slips of the people who wrote tickets and readings down; each waits for the first weighing that shows it. */
export function demoSlips({ lastDay, unit, random }: Setting): (weighing: Weighing) => void {
  const from = (days: number) => lastDay - days * dayMs
  const pending = [
    {
      unit: unit('T-117'),
      from: from(38),
      left: 1,
      slip: (w: Weighing) => transposeDigits(w, sensedGroup(unit('T-117')), 1_500, random),
    },
    { unit: unit('T-108'), from: from(55), left: 2, slip: (w: Weighing) => swapWithTrailer(w, unit('T-108')) },
    {
      unit: unit('V-215'),
      from: from(30),
      left: 1,
      slip: (w: Weighing) => readInKilopascals(w, sensedGroup(unit('V-215'))),
    },
    { unit: unit('T-133'), from: from(45), left: 1, slip: (w: Weighing) => mistypeGross(w, -1_000) },
  ]
  const unlocated = unit('V-218')
  return (weighing) => {
    if (weighing.readAt >= from(55) && weighing.pressures.some((pressure) => pressure.unit === unlocated))
      weighing.elevationFt = null
    if (weighing.scale === null || weighing.scale.grossOnly) return
    for (const slip of pending) {
      const there = weighing.pressures.some((pressure) => pressure.unit === slip.unit)
      if (slip.left > 0 && weighing.at >= slip.from && there && slip.slip(weighing)) slip.left -= 1
    }
  }
}

function swapWithTrailer(weighing: Weighing, power: SimUnit): boolean {
  const other = weighing.pressures.find((pressure) => pressure.unit !== power)
  return other !== undefined && swapGroups(weighing, sensedGroup(power), other.group, 2_000)
}

/**
 * K-02 carries its loads with the pusher axle on the road since some weeks ago, although it was calibrated with it up.
 */
export function settleDemoLoad({ lastDay, unit }: Setting): (power: SimUnit, at: number, load: Load) => Load {
  const lowered = unit('K-02')
  return (power, at, load) =>
    power === lowered && load.cargoLb > 12_000 && at >= lastDay - 58 * dayMs ? { ...load, lift: 'lowered' } : load
}
