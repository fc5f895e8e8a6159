import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { planCalibrations, type Rig } from './demo-calibrations.ts'
import { demoYards, grossOnlyScale, makeDemoScales, makeDemoUnits } from './demo-fleet.ts'
import {
  absoluteUnits,
  demoHappenings,
  demoSlips,
  fittedDaysAgo,
  heavyUnits,
  settleCells,
  settleDemoLoad,
} from './demo-troubles.ts'
import { atLocal, dayFromText, dayMs } from './simulation/clock.ts'
import { FolderWriter } from './simulation/folder-writer.ts'
import { Logbook } from './simulation/logbook.ts'
import { operate } from './simulation/operate.ts'
import { Random } from './simulation/random.ts'
import type { Scale } from './simulation/scale.ts'
import { writeUnit, type SimUnit } from './simulation/unit.ts'
import { ordinaryNoise } from './simulation/weighing.ts'

const seeded = () => new Random('Tamsin Fork Freight 1998')

/** The demo's scales with what they truly do. */
export const demoScales = (): Scale[] => makeDemoScales(ordinaryNoise, seeded().fork('scales'))

/**
 * Two years of Tamsin Fork Freight ending on `until`, written as a fleet folder. The same date gives the same files.
 */
export function makeDemo(folder: string, until = '2026-11-24'): ReturnType<FolderWriter['close']> {
  const random = seeded()
  const lastDay = dayFromText(until)
  const firstDay = lastDay - 730 * dayMs
  const scales = demoScales()
  const { tractors, trailers, trucks } = makeDemoUnits(ordinaryNoise, firstDay, random.fork('units'), absoluteUnits)
  const units = [...tractors, ...trailers, ...trucks]
  const unit = (number: string): SimUnit => {
    const found = units.find((candidate) => candidate.number === number)
    if (found === undefined) throw new RangeError(`the demo fleet has no unit ${number}`)
    return found
  }
  const scaleOf = (yard: string): Scale => scales.find(({ name }) => name === `${yard} Yard`) as Scale
  const rigs = demoYards.flatMap(({ name }): Rig[] => {
    const powers = tractors.filter(({ yard }) => yard === name)
    const towed = trailers.filter(({ yard }) => yard === name)
    return [
      ...powers.map((power, i) => ({ power, trailer: towed[i] ?? null })),
      ...towed.slice(powers.length).map((trailer, i) => ({ power: powers[2 * i + 1] as SimUnit, trailer })),
      ...trucks.filter(({ yard }) => yard === name).map((power) => ({ power, trailer: null })),
    ]
  })
  const calibrations = planCalibrations(rigs, scaleOf, firstDay, lastDay, random.fork('calibrations'))

  const logbook = new Logbook(lastDay, 0.3, random.fork('cells'))
  const setting = { lastDay, unit, logbook, random: random.fork('troubles') }
  for (const one of units) {
    const visits = calibrations
      .filter(({ calibrated }) => calibrated.includes(one))
      .map(({ day }) => day)
      .toSorted((a, b) => a - b)
    const fittedOn = visits[0] ?? lastDay - (fittedDaysAgo[one.number] ?? 0) * dayMs
    logbook.fit(
      one,
      atLocal(fittedOn, 6),
      visits.map((day) => atLocal(day, 6)),
    )
  }
  settleCells(setting)

  const writer = new FolderWriter(folder)
  for (const { name, elevationFt } of demoYards) writer.row('yards', { yard: name, elevation_ft: elevationFt })
  for (const one of units) writeUnit(writer, one)
  for (const { name, divisionLb, elevationFt, tolerancePercent } of scales) {
    writer.row('scales', {
      scale: name,
      division_lb: divisionLb,
      elevation_ft: elevationFt,
      tolerance_percent: tolerancePercent,
    })
  }

  const trips = random.fork('trips')
  const lastSeen = new Map<SimUnit, number>()
  let readings = 0
  operate(
    writer,
    logbook,
    {
      from: firstDay,
      until: lastDay,
      powers: [...tractors, ...trucks],
      checkEveryDays: [10, 22],
      readingsPerDay: 0.28,
      calibrations,
      happenings: demoHappenings(setting),
      chooseTrailer: (power, day, busy) => {
        if (power.model.kind === 'truck') return null
        const free = trailers.filter(
          (trailer) =>
            trailer.yard === power.yard && trailer.fittedAt !== null && trailer.fittedAt < day && !busy.has(trailer),
        )
        const longest = free.toSorted((a, b) => (lastSeen.get(a) ?? 0) - (lastSeen.get(b) ?? 0))
        const chosen = longest[Math.min(longest.length - 1, trips.whole(0, 3))]
        if (chosen !== undefined) lastSeen.set(chosen, day)
        return chosen
      },
      chooseScale: (power) =>
        trips.weighted(
          scales.map(
            (scale) =>
              [
                scale,
                scale.name === `${power.yard} Yard`
                  ? 8
                  : scale.name === grossOnlyScale
                    ? 1
                    : scale.name.endsWith(' Yard')
                      ? 2
                      : 3,
              ] as const,
          ),
        ),
      heaviness: (power) => heavyUnits[power.number] ?? 1,
      roadElevationFt: () => Math.round(trips.between(2_200, 7_400) / 10) * 10,
      beforeWriting: demoSlips(setting),
      settleLoad: settleDemoLoad(setting),
    },
    {
      random: random.fork('weighings'),
      noise: ordinaryNoise,
      nextReading: () => {
        readings += 1
        return `R-${String(readings).padStart(6, '0')}`
      },
    },
  )
  logbook.write(writer)
  return writer.close()
}

if (import.meta.main) {
  const { values } = parseArgs({ options: { until: { type: 'string' }, to: { type: 'string' } } })
  const folder = values.to ?? join(import.meta.dirname, 'fleet')
  try {
    const counts = makeDemo(folder, values.until)
    for (const [file, rows] of Object.entries(counts)) console.log(`${file}.csv  ${rows} rows`)
  } catch (error) {
    if (!(error instanceof RangeError)) throw error
    console.error(`The demo fleet was not written: ${error.message}.`)
    process.exitCode = 2
  }
}
