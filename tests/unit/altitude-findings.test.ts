import { describe, expect, it } from 'vitest'
import type { CircuitFacts, GroupHistory, Observation } from '#core/evidence/history.ts'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import type { PressureReference } from '#core/words/vocabulary.ts'
import { Random } from '#demo/simulation/random.ts'
import {
  calibration,
  circuit,
  daysOn,
  find,
  goodPoints,
  history,
  judge,
  lineLb,
  mount,
  point,
} from '#tests/unit/group-history.ts'

const code = 'altitude-uncorrected'
const home = 800
/** Scales of this road, ft. */
const road = [800, 5200, 2400, 6800, 3600, 800, 7400, 1500, 4400, 6000, 800, 5000]

/** What a sensor shows that feels the air or not, whatever the record says of it. */
const shown = (psi: number, feelsAir: boolean, elevationFt: number) =>
  Math.round((psi + (feelsAir ? atmosphericPsi(elevationFt) : 0)) * 10) / 10

function group(
  recorded: PressureReference,
  feelsAir: boolean,
  change: {
    elevations?: readonly (number | null)[]
    pointElevation?: number | null
    noisePsi?: number
    stuck?: number
  } = {},
): GroupHistory {
  const { elevations = road, pointElevation = home, noisePsi = 0.3, stuck = 0 } = change
  const random = new Random(`${recorded} ${feelsAir}`)
  const circuits: CircuitFacts[] = [circuit({ mounts: [mount({ reference: recorded })] })]
  const points = goodPoints().map((each) => ({
    ...each,
    elevationFt: pointElevation,
    psi: [shown(each.psi[0] as number, feelsAir, pointElevation ?? home)],
  }))
  const observations = elevations.map((elevationFt, i): Observation => {
    const psi = 30 + 7 * (i % 5)
    return point(
      shown(psi + random.normal(noisePsi) + stuck * i, feelsAir, elevationFt ?? home),
      Math.round(lineLb(psi) / 20) * 20,
      { takenAt: daysOn(12 * (i + 1)), elevationFt },
    )
  })
  return history({ circuits, calibrations: [calibration({ points })], observations })
}
const asOf = { asOf: daysOn(200) }

describe('altitude-uncorrected', () => {
  it('finds an absolute sensor that is on record as gauge', () => {
    const judged = judge(group('gauge', true), asOf)
    const found = judged.findings.find((each) => each.code === code)
    expect(found).toMatchObject({ severity: 'warn', since: daysOn(12), groupId: 10, numbers: { checks: 12 } })
    expect(found?.numbers['miss_per_air_psi'] as number).toBeCloseTo(-1, 0)
    expect(found?.message).toMatch(
      /^Between its lowest and highest scale the line misses by 3\.\d psi, as that of an absolute sensor read as gauge does\.$/,
    )
    expect(found?.nextStep).toBe("Look up the sensor's type; it is on record as gauge.")
    expect(judged.trust).toBe('doubtful')
  })

  it('finds a gauge sensor that is on record as absolute', () => {
    const found = find(group('absolute', false), code, asOf)
    expect(found?.numbers['miss_per_air_psi'] as number).toBeCloseTo(1, 0)
    expect(found?.message).toMatch(/as that of a gauge sensor read as absolute does\.$/)
    expect(found?.nextStep).toBe("Look up the sensor's type; it is on record as absolute.")
  })

  it('has nothing to say of sensors that are what the record says, at any height', () => {
    expect(find(group('gauge', false), code, asOf)).toBeUndefined()
    expect(find(group('absolute', true), code, asOf)).toBeUndefined()
  })

  it('needs six checks and scales that lie at different heights', () => {
    expect(find(group('gauge', true, { elevations: road.slice(0, 5) }), code, asOf)).toBeUndefined()
    expect(find(group('gauge', true, { elevations: road.slice(0, 7) }), code, asOf)).toBeDefined()
    expect(find(group('gauge', true, { elevations: road.map(() => 5000) }), code, asOf)).toBeUndefined()
    expect(
      find(group('gauge', true, { elevations: road.map((_, i) => 800 + 100 * (i % 2)) }), code, asOf),
    ).toBeUndefined()
  })

  it('does not take a sensor that drifts for the air', () => {
    expect(find(group('gauge', false, { stuck: 0.3 }), code, asOf)).toBeUndefined()
  })

  it('counts the readings of an absolute sensor whose elevation nobody knows', () => {
    const found = find(group('absolute', true, { elevations: [800, null, null, 800] }), code, asOf)
    expect(found).toMatchObject({ severity: 'warn', circuitId: 100, since: daysOn(24), numbers: { readings: 2 } })
    expect(found?.message).toBe(
      '2 readings of its absolute sensor have no elevation and cannot be used: each 1,000 ft is worth about 0.5 psi.',
    )
    expect(find(group('absolute', true, { elevations: [800, null] }), code, asOf)?.message).toMatch(
      /^1 reading of its absolute sensor has no elevation and cannot be used/,
    )
    expect(find(group('absolute', true, { pointElevation: null, elevations: [] }), code, asOf)).toMatchObject({
      since: daysOn(0) - 3_600_000,
      numbers: { readings: 3 },
    })
    expect(find(group('gauge', false, { elevations: [null, null] }), code, asOf)).toBeUndefined()
  })

  it('minds only the sensor that is mounted now', () => {
    const { calibrations, observations, ...rest } = group('absolute', true, { elevations: [null] })
    const gone = circuit({
      mounts: [
        mount({ reference: 'absolute', removedAt: daysOn(0) - 7_200_000 }),
        mount({ serial: 'S-2', mountedAt: daysOn(0) - 7_200_000 }),
      ],
    })
    expect(find({ ...rest, calibrations, observations, circuits: [gone] }, code, asOf)).toBeUndefined()
  })
})
