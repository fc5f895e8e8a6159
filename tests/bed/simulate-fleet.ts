import { dayFromText, dayMs, monthMs } from '#demo/simulation/clock.ts'
import { FolderWriter, type WithheldColumn } from '#demo/simulation/folder-writer.ts'
import { Logbook } from '#demo/simulation/logbook.ts'
import { operate } from '#demo/simulation/operate.ts'
import { Random } from '#demo/simulation/random.ts'
import type { Scale } from '#demo/simulation/scale.ts'
import { sensedGroup, writeUnit, type SimUnit } from '#demo/simulation/unit.ts'
import { type Noise, ordinaryNoise, type Weighing } from '#demo/simulation/weighing.ts'
import { homes, makeScales } from '#tests/bed/bed-scales.ts'
import { type FaultKind, faultKinds } from '#tests/bed/fault-kinds.ts'
import { dealFaults } from '#tests/bed/rig-plan.ts'
import { passCheck, prepareRig, RigMaker, unitsOf } from '#tests/bed/rig.ts'
import type { FleetTruth, GroupTruth, WeighingTruth } from '#tests/bed/truth.ts'

export interface BedSettings {
  readonly folder: string
  readonly seed: string | number
  readonly units: number
  readonly months: number
  /** How many of each kind; a biased scale is one or none. */
  readonly faults: Partial<Readonly<Record<FaultKind, number>>>
  readonly noise?: Partial<Noise>
  readonly until?: string
  readonly absoluteShare?: number
  readonly readingsPerDay?: number
  /** Days between two check weighings of a power unit. */
  readonly checkEveryDays?: readonly [fewest: number, most: number]
  /** What nobody of the fleet notes. */
  readonly withheld?: readonly WithheldColumn[]
}

/** Every kind the same number of times (and the one biased scale). */
export const everyFault = (count: number): Partial<Record<FaultKind, number>> =>
  Object.fromEntries(faultKinds.map((kind) => [kind, kind === 'biased-scale' ? 1 : count]))

/** What truly stood on the axles, by the names of the record. */
function trueWeights({ reading, trueLb, pressures }: Weighing): WeighingTruth {
  const units = new Set(pressures.map(({ unit }) => unit))
  const groups = [...units].flatMap((unit) =>
    unit.groups.map((group) => ({ unit: unit.number, group: group.model.name, weightLb: trueLb.get(group) as number })),
  )
  return { reading, groups }
}

/**
 * Writes one simulated fleet as a fleet folder and answers what is true of it. The same settings give the same files.
 */
export function simulateFleet(settings: BedSettings): FleetTruth {
  const random = new Random(`bed/${settings.seed}`)
  const noise = { ...ordinaryNoise, ...settings.noise }
  const lastDay = dayFromText(settings.until ?? '2026-11-24')
  const firstDay = lastDay - Math.round((settings.months * monthMs) / dayMs) * dayMs
  const { scales, biased } = makeScales(noise, (settings.faults['biased-scale'] ?? 0) > 0, random.fork('scales'))
  const writer = new FolderWriter(settings.folder, settings.withheld)
  const logbook = new Logbook(lastDay, 0, random.fork('cells'))

  const trucks = Math.round(settings.units * 0.06)
  const pairs = Math.floor((settings.units - trucks) / 2)
  const maker = new RigMaker(firstDay, noise.wanderPsi, settings.absoluteShare ?? 0.1)
  const rigs = dealFaults(pairs + trucks, trucks, settings.faults, random.fork('deal')).map((kind, i) =>
    maker.rig(kind, i >= pairs, random.fork(`rig ${i}`)),
  )
  const prepared = rigs.map((rig, i) => {
    const scale = scales.find(({ name }) => name === rig.power.yard) as Scale
    return prepareRig(
      rig,
      scale,
      { first: firstDay, last: lastDay },
      logbook,
      maker.nextSensorNumber,
      random.fork(`life ${i}`),
    )
  })

  for (const [yard, elevationFt] of homes) writer.row('yards', { yard, elevation_ft: elevationFt })
  for (const rig of rigs) for (const unit of unitsOf(rig)) writeUnit(writer, unit)
  for (const { name, divisionLb, elevationFt, tolerancePercent } of scales) {
    writer.row('scales', {
      scale: name,
      division_lb: divisionLb,
      elevation_ft: elevationFt,
      tolerance_percent: tolerancePercent,
    })
  }

  const rigOf = new Map(rigs.map((rig) => [rig.power, rig]))
  const trips = random.fork('trips')
  const weighings: WeighingTruth[] = []
  let readings = 0
  operate(
    writer,
    logbook,
    {
      from: firstDay,
      until: lastDay,
      powers: rigs.map(({ power }) => power),
      checkEveryDays: settings.checkEveryDays ?? [10, 22],
      readingsPerDay: settings.readingsPerDay ?? 0.05,
      calibrations: prepared.flatMap(({ calibrations }) => calibrations),
      happenings: prepared.flatMap(({ happenings }) => happenings),
      chooseTrailer: (power) => rigOf.get(power)?.trailer ?? null,
      chooseScale: ({ yard }) => trips.weighted(scales.map((scale) => [scale, scale.name === yard ? 3 : 1] as const)),
      heaviness: () => 1,
      roadElevationFt: () => Math.round(trips.between(700, 6_000) / 10) * 10,
      beforeWriting: (weighing) => {
        const rig = rigOf.get(weighing.weights[0]?.unit as SimUnit)
        if (weighing.scale !== null && rig !== undefined) passCheck(rig, weighing, lastDay)
        weighings.push(trueWeights(weighing))
      },
    },
    {
      random: random.fork('weighings'),
      noise,
      nextReading: () => {
        readings += 1
        return `R${readings}`
      },
    },
  )
  logbook.write(writer)
  writer.close()

  const planted = rigs.flatMap((rig) => rig.planted)
  if (biased !== null) {
    planted.push({
      kind: 'biased-scale',
      unit: null,
      group: null,
      scale: biased.name,
      ticket: null,
      startedAt: new Date(firstDay).toISOString(),
      what: `weighs ${(biased.gain * 100).toFixed(2)} % off`,
    })
  }
  const groups = rigs.flatMap((rig) =>
    unitsOf(rig).map((unit): GroupTruth => {
      const group = sensedGroup(unit).model.name
      return {
        unit: unit.number,
        group,
        clean: !rig.planted.some((fault) => fault.unit === unit.number),
        lastCalibratedDaysAgo: rig.plan.lastCalibratedDaysAgo,
        checks: rig.checks,
      }
    }),
  )
  return {
    lastDay: new Date(lastDay).toISOString().slice(0, 10),
    planted,
    groups,
    scales: scales.map(({ name, gain, tolerancePercent }) => ({
      scale: name,
      biasPercent: 100 * gain,
      tolerancePercent,
    })),
    weighings,
  }
}
