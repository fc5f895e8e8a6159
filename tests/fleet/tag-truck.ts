import { type FolderRows, addSensor, addUnit, drive, steer } from '#tests/fleet/folder.ts'

/** What the two lines of the truck read at a pressure, lb. */
export const tagTruckLb = { drive: (psi: number) => 3000 + 450 * psi, tag: (psi: number) => 1200 + 240 * psi }

const loads = [
  [16, 14],
  [40, 36],
  [66, 60],
] as const

/**
 * Adds a truck whose drive tandem and tag each have a circuit, with a calibration of both at three loads, weighed
 * apart. on: a scale of the fleet; at: the time of each weighing in turn, the last also of the calibrations.
 */
export function addTagTruck(rows: FolderRows, unit: string, on: string, at: (load: number) => string): void {
  addUnit(rows, { unit, kind: 'truck', gross_limit_lb: 60_000 }, [
    { ...steer, limit_lb: 14_000, measured_by: 'ticket' },
    drive,
    { ...drive, group: 'tag', axles: 1, first_axle_ft: 26, axle_spacing_ft: '', limit_lb: 17_000 },
  ])
  const times = loads.map((_, load) => at(load))
  const [mountedAt = '', calibratedAt = ''] = [times[0], times.at(-1)]
  addSensor(rows, { unit, group: 'drive', circuit: 'main' }, { serial: `${unit}-D` }, mountedAt)
  addSensor(rows, { unit, group: 'tag', circuit: 'main' }, { serial: `${unit}-T` }, mountedAt)
  for (const [load, [drivePsi, tagPsi]] of loads.entries()) {
    const ticket = `${unit}-${load}`
    const when = times[load] as string
    const weights = [
      ['steer', 11_000],
      ['drive', tagTruckLb.drive(drivePsi)],
      ['tag', tagTruckLb.tag(tagPsi)],
    ] as const
    const gross_lb = weights.reduce((sum, [, lb]) => sum + lb, 0)
    for (const [group, weight_lb] of weights)
      rows.tickets.push({ scale: on, ticket, weighed_at: when, unit, group, weight_lb, gross_lb })
    for (const [group, psi] of [
      ['drive', drivePsi],
      ['tag', tagPsi],
    ] as const) {
      rows.readings.push({ reading: ticket, taken_at: when, unit, group, circuit: 'main', psi, scale: on, ticket })
      rows.calibrations.push({
        unit,
        group,
        calibrated_at: calibratedAt,
        by: 'Q. Tarn',
        scale: on,
        ticket,
        reading: ticket,
      })
    }
  }
}

/** A ticket of the truck as the Weigh-in sends it: steer alone, drive and tag on one platform. */
export const onOnePlatform = (
  unit: string,
  { ticket, weighedAt, bothLb }: { readonly ticket: string; readonly weighedAt: string; readonly bothLb: number },
  [drivePsi, tagPsi]: readonly [number, number],
) => ({
  ticket,
  weighedAt,
  grossLb: 11_000 + bothLb,
  weights: [{ unit, group: 'steer', weightLb: 11_000 }],
  together: [{ unit, groups: ['drive', 'tag'] as [string, string], weightLb: bothLb }],
  reading: {
    elevationFt: null,
    temperatureF: null,
    lift: null,
    pressures: [
      { unit, group: 'drive', circuit: 'main', psi: drivePsi },
      { unit, group: 'tag', circuit: 'main', psi: tagPsi },
    ],
  },
})
