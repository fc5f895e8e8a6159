import { parseArgs } from 'node:util'
import { dayFromText, dayMs, hourMs, minuteMs } from '#demo/simulation/clock.ts'
import { type FolderFile, FolderWriter } from '#demo/simulation/folder-writer.ts'
import { fictitiousVin } from '#demo/simulation/vin.ts'
import { Random } from '#demo/simulation/random.ts'
import { gainWithin, printedLb, type Scale, takeTicketNumber } from '#demo/simulation/scale.ts'
import { sensedPsi } from '#demo/simulation/sensor.ts'
import { circuitPressuresPsi, wanderTo } from '#demo/simulation/suspension.ts'
import { writeSensor } from '#demo/simulation/unit.ts'
import { ordinaryNoise } from '#demo/simulation/weighing.ts'
import { circuitsOfRig, type LargeGroup, type LargeRig, type LargeStop, makeLargeRig } from '#tests/bench/large-rig.ts'

export interface LargeFleetSettings {
  /** Even; half tractors, half trailers, 2.5 sensed groups a unit. */
  readonly units: number
  readonly readingRows: number
  readonly seed?: string
  readonly until?: string
  /** Rigs of which one group's sensors read 3 psi off since some weeks or months. */
  readonly troubledShare?: number
}

const yards = [
  ['Alder Flat', 1_200],
  ['Bracken', 3_000],
  ['Copper Sill', 5_100],
  ['Drover', 700],
] as const
const troublePsi = 3
const utc = (ms: number): string => `${new Date(ms).toISOString().slice(0, 19)}Z`

function writeRig(writer: FolderWriter, rig: LargeRig, index: number, lastDay: number): void {
  const fitted = utc((rig.stops[0]?.at ?? lastDay) - hourMs)
  const yard = (yards[index % yards.length] as (typeof yards)[number])[0]
  for (const unit of [rig.tractor, rig.trailer]) {
    const isTractor = unit === rig.tractor
    writer.row('units', {
      unit,
      kind: isTractor ? 'tractor' : 'trailer',
      vin: fictitiousVin(isTractor ? 'T' : 'V', 2014 + (index % 12), index + 1),
      plate: `ZB-${isTractor ? 1 : 2}${String(index + 1).padStart(5, '0')}`,
      plate_region: 'ZZ',
      make: isTractor ? 'Brennock' : 'Quillmarch',
      model: isTractor ? 'R8' : 'Twin',
      model_year: 2014 + (index % 12),
      yard,
      gross_limit_lb: isTractor ? 140_000 : null,
      fifth_wheel_ft: isTractor ? 17.4 : null,
    })
  }
  for (const { unit, model, sensors } of rig.groups) {
    writer.row('axle_groups', {
      unit,
      group: model.name,
      role: model.role,
      axles: model.axles,
      first_axle_ft: model.firstAxleFt,
      axle_spacing_ft: model.axles > 1 ? 4.3 : null,
      limit_lb: model.limitLb,
      measured_by: 'circuit',
    })
    model.circuits.forEach((circuit, i) => {
      const sensor = sensors[i] as (typeof sensors)[number]
      writer.row('circuits', {
        unit,
        group: model.name,
        circuit: circuit.name,
        air_springs: circuit.airSprings,
        spring_area_in2: circuit.springAreaIn2,
        ride_height_in: 10,
      })
      writeSensor(writer, sensor)
      writer.row('mounts', {
        serial: sensor.serial,
        unit,
        group: model.name,
        circuit: circuit.name,
        mounted_at: fitted,
        removed_at: null,
      })
      writer.row('battery_changes', { serial: sensor.serial, changed_at: fitted, reason: 'new', cell: sensor.cell })
    })
  }
}

const trueLb = ({ model }: LargeGroup, load: number, random: Random): number =>
  model.emptyLb + (model.fullLb - model.emptyLb) * load * (1 + random.clippedNormal(0.02, 0.05))

interface Point {
  readonly scale: string
  readonly ticket: string
  readonly reading: string
}

/** Writes one stop's ticket and reading; answers the calibration point that they make. */
function writeStop(
  writer: FolderWriter,
  rig: LargeRig,
  stop: LargeStop,
  scale: Scale,
  reading: string,
  random: Random,
): Point {
  const load = stop.calibration?.load ?? (random.chance(0.2) ? 0 : random.between(0.3, 1.02))
  const weights = rig.groups.map((group) => trueLb(group, load, random))
  const ticket = stop.ticket ? takeTicketNumber(scale) : null
  const name = stop.ticket ? scale.name : null
  if (stop.ticket) {
    const printed = weights.map((weight) => printedLb(scale, weight + random.normal(ordinaryNoise.repeatabilityLb)))
    const grossLb = printed.reduce((sum, weight) => sum + weight, 0)
    const weighedAt = utc(stop.at)
    rig.groups.forEach(({ unit, model }, i) => {
      writer.row('tickets', {
        scale: name,
        ticket,
        weighed_at: weighedAt,
        unit,
        group: model.name,
        weight_lb: printed[i] as number,
        gross_lb: grossLb,
      })
    })
  }
  const readAt = stop.at + 3 * minuteMs
  const takenAt = utc(readAt)
  const temperatureF = Math.round(60 + random.normal(18))
  const lift = rig.groups.some(({ model }) => model.role === 'lift') ? 'lowered' : 'none'
  rig.groups.forEach(({ unit, model, suspension, sensors }, i) => {
    wanderTo(suspension, readAt, random)
    const gauge = circuitPressuresPsi(suspension, weights[i] as number, ordinaryNoise.levelingPsi, random)
    const off = i === 0 && rig.troubleAt !== null && readAt >= rig.troubleAt ? troublePsi : 0
    model.circuits.forEach((circuit, k) => {
      const sensor = sensors[k] as (typeof sensors)[number]
      const psi = sensedPsi(sensor, (gauge[k] as number) + off, readAt, scale.elevationFt, random)
      writer.row('readings', {
        reading,
        taken_at: takenAt,
        unit,
        group: model.name,
        circuit: circuit.name,
        psi,
        scale: name,
        ticket,
        elevation_ft: scale.elevationFt,
        temperature_f: temperatureF,
        lift,
      })
    })
  })
  return { scale: scale.name, ticket: ticket ?? '', reading }
}

function writeCalibration(writer: FolderWriter, rig: LargeRig, at: number, points: readonly Point[]): void {
  const calibratedAt = utc(at + 10 * minuteMs)
  for (const { unit, model } of rig.groups) {
    for (const point of points)
      writer.row('calibrations', { unit, group: model.name, calibrated_at: calibratedAt, by: 'Shop', ...point })
  }
}

/** The same number of stops for every rig, and one more for the first ones as long as rows are left. */
function stopsOfRigs(rigs: number, readingRows: number): number[] {
  const circuits = Array.from({ length: rigs }, (_, i) => circuitsOfRig(i))
  const each = Math.floor(readingRows / circuits.reduce((sum, count) => sum + count, 0))
  let left = readingRows - each * circuits.reduce((sum, count) => sum + count, 0)
  return circuits.map((count) => {
    left -= count
    return left >= 0 ? each + 1 : each
  })
}

/**
 * Writes a fleet folder for the bench: three years of calibrations, check weighings and readings of `units` units with
 * two and a half sensed groups each, about `readingRows` rows of readings (short by less than one reading), in rounds
 * over the whole fleet. Answers the rows of each file.
 */
export function writeLargeFleet(
  folder: string,
  { units, readingRows, seed = 'large', until = '2026-11-24', troubledShare = 0.02 }: LargeFleetSettings,
): Record<FolderFile, number> {
  const random = new Random(seed)
  const lastDay = dayFromText(until)
  const writer = new FolderWriter(folder)
  const scales = [
    ...yards.map(([name, elevationFt]) => ({ name: `${name} Yard`, elevationFt })),
    { name: 'Highway 9', elevationFt: 2_400 },
    { name: 'Stone Gate', elevationFt: 4_000 },
  ].map(
    ({ name, elevationFt }): Scale => ({
      name,
      elevationFt,
      divisionLb: ordinaryNoise.divisionLb,
      tolerancePercent: ordinaryNoise.scaleTolerancePercent,
      gain: gainWithin(ordinaryNoise.scaleTolerancePercent, random),
      grossOnly: false,
      nextTicket: 1,
    }),
  )
  for (const [yard, elevationFt] of yards) writer.row('yards', { yard, elevation_ft: elevationFt })
  for (const { name, divisionLb, elevationFt, tolerancePercent } of scales) {
    writer.row('scales', {
      scale: name,
      division_lb: divisionLb,
      elevation_ft: elevationFt,
      tolerance_percent: tolerancePercent,
    })
  }
  const stops = stopsOfRigs(units / 2, readingRows)
  const rigs = stops.map((count, i) => makeLargeRig(i, count, lastDay - dayMs, troubledShare, random))
  rigs.forEach((rig, i) => {
    writeRig(writer, rig, i, lastDay)
  })

  const open = new Map<LargeRig, Point[]>()
  let readings = 0
  const rounds = Math.max(...rigs.map((rig) => rig.stops.length))
  for (let round = 0; round < rounds; round += 1) {
    for (let i = 0; i < rigs.length; i += 1) {
      const rig = rigs[i] as LargeRig
      const stop = rig.stops[round]
      if (stop === undefined) continue
      const atHome = stop.calibration !== null || random.chance(0.5)
      const scale = (atHome ? scales[i % yards.length] : random.pick(scales)) as Scale
      readings += 1
      const point = writeStop(writer, rig, stop, scale, `R${readings}`, random)
      if (stop.calibration === null) continue
      const points = [...(stop.calibration.first ? [] : (open.get(rig) ?? [])), point]
      open.set(rig, points)
      if (stop.calibration.last) writeCalibration(writer, rig, stop.at, points)
    }
  }
  return writer.close()
}

if (import.meta.main) {
  const { values } = parseArgs({
    options: {
      to: { type: 'string' },
      units: { type: 'string', default: '10000' },
      rows: { type: 'string', default: '1000000' },
    },
  })
  if (values.to === undefined) {
    console.error(
      'Say where the fleet goes: node tests/bench/large-fleet.ts --to FOLDER [--units 10000] [--rows 1000000]',
    )
    process.exitCode = 2
  } else {
    const started = performance.now()
    const counts = writeLargeFleet(values.to, { units: Number(values.units), readingRows: Number(values.rows) })
    for (const [file, rows] of Object.entries(counts)) console.log(`${file}.csv  ${rows} rows`)
    console.log(
      `${((performance.now() - started) / 1000).toFixed(1)} s, at most ${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB of memory`,
    )
  }
}
