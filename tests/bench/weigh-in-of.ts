import { toStoredInstant } from '#core/words/instant.ts'
import type { Client } from '#tests/api/windows.ts'

/** The weigh-in of rig number `rig`, which has no lift axle, at a time (ms UTC); the how manyth of it. */
export function weighInOf(rig: number, at: number, visit = 1): Parameters<Client['weighIn']['save']>[0] {
  const [tractor, trailer] = ['T', 'V'].map((letter) => `${letter}${String(rig).padStart(5, '0')}`) as [string, string]
  const read = [
    [tractor, 'steer', 40, 12_000],
    [tractor, 'drive', 45, 24_000],
    [trailer, 'front', 40, 20_000],
    [trailer, 'rear', 45, 21_000],
    [trailer, 'tag', 30, 9_000],
  ] as const
  return {
    units: [tractor, trailer],
    scale: 'Highway 9',
    localZone: 'UTC',
    by: 'Bench',
    calibrate: [],
    readings: [],
    tickets: [
      {
        ticket: `L${rig}-${visit}`,
        weighedAt: toStoredInstant(at),
        grossLb: 86_000,
        weights: read.map(([unit, group, , weightLb]) => ({ unit, group, weightLb })),
        reading: {
          elevationFt: 2400,
          temperatureF: 60,
          lift: 'none',
          pressures: read.map(([unit, group, psi]) => ({ unit, group, circuit: 'main', psi })),
        },
      },
    ],
  }
}
