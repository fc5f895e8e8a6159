import { describe, expect, it } from 'vitest'
import { type Range, ranges } from '#core/words/vocabulary.ts'
import { smallFleet, withCell } from '#tests/exchange/small-fleet.ts'
import { bringBadly, bringWell } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'

/** Every number of a fleet folder, at a line of the small fleet. */
const numbers: readonly (readonly [file: string, line: number, column: string, range: Range])[] = [
  ['yards.csv', 2, 'elevation_ft', ranges.elevationFt],
  ['units.csv', 2, 'model_year', ranges.modelYear],
  ['units.csv', 2, 'gross_limit_lb', ranges.grossLimitLb],
  ['units.csv', 2, 'fifth_wheel_ft', ranges.fifthWheelFt],
  ['axle_groups.csv', 3, 'axles', ranges.axles],
  ['axle_groups.csv', 3, 'first_axle_ft', ranges.firstAxleFt],
  ['axle_groups.csv', 3, 'axle_spacing_ft', ranges.axleSpacingFt],
  ['axle_groups.csv', 3, 'limit_lb', ranges.groupLimitLb],
  ['circuits.csv', 2, 'air_springs', ranges.airSprings],
  ['circuits.csv', 2, 'spring_area_in2', ranges.springAreaIn2],
  ['circuits.csv', 2, 'ride_height_in', ranges.rideHeightIn],
  ['sensors.csv', 2, 'range_psi', ranges.rangePsi],
  ['sensors.csv', 2, 'resolution_psi', ranges.resolutionPsi],
  ['sensors.csv', 2, 'accuracy_psi', ranges.accuracyPsi],
  ['sensors.csv', 2, 'report_every_s', ranges.reportEveryS],
  ['scales.csv', 2, 'division_lb', ranges.divisionLb],
  ['scales.csv', 2, 'elevation_ft', ranges.elevationFt],
  ['scales.csv', 2, 'tolerance_percent', ranges.tolerancePercent],
  ['tickets.csv', 2, 'weight_lb', ranges.weightLb],
  ['tickets.csv', 17, 'gross_lb', ranges.grossLb],
  ['readings.csv', 17, 'psi', ranges.psi],
  ['readings.csv', 17, 'elevation_ft', ranges.elevationFt],
  ['readings.csv', 17, 'temperature_f', ranges.temperatureF],
]

const withAll = (value: (range: Range) => number) =>
  numbers.reduce(
    (files, [file, line, column, range]) => withCell(files, file, line, column, String(value(range))),
    smallFleet(),
  )

describe('what a folder may say and what the tables accept', () => {
  it.each([
    ['least', ({ min }: Range) => min],
    ['most', ({ max }: Range) => max],
  ])('are the same at the %s', (_, value) =>
    withStore(async (store) => {
      await bringWell(store, withAll(value))
      expect(store.raw.pragma('integrity_check', { simple: true })).toBe('ok')
    }),
  )

  it.each([
    ['below', ({ min }: Range) => min - 1],
    ['above', ({ max }: Range) => max + 1],
  ])('end there: one more %s is refused in every column', (_, value) =>
    withStore(async (store) => {
      const { problems } = await bringBadly(store, withAll(value))
      expect(problems.map(({ file, line, column }) => `${file} ${line} ${column}`).sort()).toEqual(
        numbers.map(([file, line, column]) => `${file} ${line} ${column}`).sort(),
      )
    }),
  )

  it('are the same for the earliest and the latest time, in any zone', () =>
    withStore(async (store) => {
      const files = withCell(
        withCell(smallFleet(), 'readings.csv', 17, 'taken_at', '1900-01-01T00:00:00+14:00'),
        'events.csv',
        2,
        'happened_at',
        '2199-12-31T23:59:59.999-14:00',
      )
      await bringWell(store, files)
      expect(store.raw.prepare("select taken_at from reading where name = 'R-6'").pluck().get()).toBe(
        '1899-12-31T10:00:00.000Z',
      )
      expect(store.raw.prepare('select max(happened_at) from event').pluck().get()).toBe('2200-01-01T13:59:59.999Z')
    }))
})
