import { describe, expect, it } from 'vitest'
import { calibrateGroup, pressureUncertaintyPsi, ticketUncertaintyLb } from '#core/evidence/calibrate.ts'
import { atmosphericPsi, circuitShares } from '#core/evidence/pressure.ts'
import { type PressureReading, readPressure } from '#core/evidence/read-pressure.ts'
import { fitLine } from '#core/line/fit.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { calibration, circuit, goodPoints, instant, mount, point, scale } from '#tests/unit/group-history.ts'
import { some } from '#tests/some.ts'

const rules = defaultHouseRules
const scaleOf = (id: number) => (id === scale.scaleId ? scale : undefined)
const twoCircuits = {
  circuits: [
    circuit({ name: 'left', airSprings: 6 }),
    circuit({ circuitId: 101, name: 'right', airSprings: 2, mounts: [mount({ serial: 'S-2' })] }),
  ],
}

function line(
  group: Parameters<typeof calibrateGroup>[0],
  points: ReturnType<typeof goodPoints>,
  own = rules,
  find: Parameters<typeof calibrateGroup>[2] = scaleOf,
) {
  const result = calibrateGroup(group, calibration({ points }), find, own)
  if (!result.ok) throw new Error(result.problem.message)
  return result.value
}

/** The pressure that a reading has for a line of all circuits of a group, or of some. */
function read(
  group: Parameters<typeof calibrateGroup>[0],
  reading: PressureReading,
  circuits = [...group.circuits.keys()],
) {
  const shares = circuitShares(circuits.map((place) => group.circuits[place]?.airSprings ?? null))
  return readPressure(group, { circuits, shares }, reading, rules.pressureResolutionPsi)
}
const psiOf = (found: ReturnType<typeof read>) => ('reason' in found ? Number.NaN : found.psi)

describe('readPressure', () => {
  it('is the mean over the circuits, weighed by their air springs', () => {
    expect(psiOf(read(twoCircuits, point([60, 52], null)))).toBeCloseTo(58, 12)
  })

  it('takes the circuits of the line alone, and every one of them', () => {
    expect(psiOf(read(twoCircuits, point([60, 52], null), [0]))).toBe(60)
    expect(psiOf(read(twoCircuits, point([60, null], null), [0]))).toBe(60)
    expect(read(twoCircuits, point([60, null], null))).toMatchObject({
      reason: 'no pressure',
      circuit: { name: 'right' },
    })
    expect(read(twoCircuits, point([60, 52], null), [])).toMatchObject({ reason: 'no pressure' })
  })

  it('corrects an absolute sensor at the elevation of the reading, each circuit by its own sensor', () => {
    const mixed = {
      circuits: [
        circuit({ airSprings: 4, mounts: [mount({ reference: 'absolute' })] }),
        circuit({ circuitId: 101, airSprings: 4 }),
      ],
    }
    expect(psiOf(read(mixed, point([72, 60], null, { elevationFt: 5000 })))).toBeCloseTo(
      (72 - atmosphericPsi(5000) + 60) / 2,
      12,
    )
    expect(read(mixed, point([72, 60], null, { elevationFt: null }))).toMatchObject({
      reason: 'elevation unknown',
      serial: 'S-1',
    })
    expect(psiOf(read(mixed, point([72, 60], null, { elevationFt: null }), [1]))).toBe(60)
  })

  it('takes the sensor that sat there at the time of the reading, up to the moment it was removed', () => {
    const removedAt = instant('2025-02-01T00:00:00Z')
    const swapped = {
      circuits: [
        circuit({
          mounts: [mount({ reference: 'absolute', removedAt }), mount({ serial: 'S-2', mountedAt: removedAt })],
        }),
      ],
    }
    expect(psiOf(read(swapped, point(72, null, { takenAt: removedAt - 1, elevationFt: 0 })))).toBeCloseTo(
      72 - atmosphericPsi(0),
      12,
    )
    expect(psiOf(read(swapped, point(72, null, { takenAt: removedAt, elevationFt: 0 })))).toBe(72)
  })

  it('takes a reading from before any sensor as gauge with the House Rules resolution', () => {
    const early = read(
      { circuits: [circuit({ mounts: [mount({ reference: 'absolute' })] })] },
      point(72, null, { takenAt: 0 }),
    )
    if ('reason' in early) throw new Error(early.reason)
    expect(early.psi).toBe(72)
    expect(Math.sqrt(early.resolutionVarPsi2)).toBeCloseTo(
      pressureUncertaintyPsi([rules.pressureResolutionPsi], [1], 0),
      12,
    )
  })

  it('leaves the stated accuracy of the sensor out: the line absorbs it', () => {
    const vague = { circuits: [circuit({ mounts: [mount({ accuracyPsi: 5 })] })] }
    expect(read(vague, point(72, null))).toEqual(read({ circuits: [circuit()] }, point(72, null)))
  })
})

describe('calibrateGroup', () => {
  const group = { circuits: [circuit()] }

  it('fits the points with the budget of ticket and pressure', () => {
    const { fit, points, widenedBy } = line(group, goodPoints())
    const ux = pressureUncertaintyPsi([0.1], [1], rules.levelingPsi)
    const uy = ticketUncertaintyLb(20, rules.ticketRepeatabilityLb)
    for (const each of some(points)) {
      expect(each.ux).toBeCloseTo(ux, 12)
      expect(each.uy).toBeCloseTo(uy, 12)
    }
    const plain = fitLine(
      [
        [14, 11_060],
        [38, 22_900],
        [60, 34_040],
      ].map(([x, y]) => ({ x: x as number, y: y as number, ux, uy })),
    )
    if (!plain.ok) throw new Error(plain.problem.message)
    for (const figure of ['a', 'b', 'uA', 'uB', 'covAB', 'chi2'] as const)
      expect(fit[figure] / plain.value[figure]).toBeCloseTo(1, 9)
    expect(widenedBy).toBe(1)
  })

  it('takes the House Rules division and tolerance for a scale without its own', () => {
    const bare = line(group, goodPoints(), rules, () => undefined)
    const same = line(group, goodPoints(), rules, () => ({
      ...scale,
      divisionLb: rules.scaleDivisionLb,
      tolerancePercent: rules.scaleTolerancePercent,
    }))
    expect(bare.line).toEqual(same.line)
  })

  it('adds the error of one scale as a gain common to all its weights: at a weight W it is u(g)·W', () => {
    const exact = line(group, goodPoints(), rules, () => ({ ...scale, tolerancePercent: 0 }))
    const tolerant = line(group, goodPoints(), rules, () => ({ ...scale, tolerancePercent: 1 }))
    const variance = ({ uA, uB, covAB }: typeof exact.line, x: number) => uA ** 2 + (x * uB) ** 2 + 2 * x * covAB
    expect(exact.line).toEqual({
      a: exact.fit.a,
      b: exact.fit.b,
      uA: exact.fit.uA,
      uB: exact.fit.uB,
      covAB: exact.fit.covAB,
    })
    for (const psi of [14, 38, 60]) {
      const added = Math.sqrt(variance(tolerant.line, psi) - variance(exact.line, psi))
      expect(added).toBeCloseTo((0.01 / Math.sqrt(3)) * (exact.fit.a + exact.fit.b * psi), -1)
    }
  })

  it('takes the errors of two scales as independent: together they do less than one scale for all', () => {
    const tolerant = (id: number) => ({ ...scale, scaleId: id, tolerancePercent: 1 })
    const atTwo = goodPoints().map((each, i) => ({ ...each, scaleId: i === 0 ? 7 : 8 }))
    const loaded = ({ uA, uB, covAB }: ReturnType<typeof line>['line'], x: number) =>
      Math.sqrt(uA ** 2 + (x * uB) ** 2 + 2 * x * covAB)
    expect(loaded(line(group, atTwo, rules, tolerant).line, 38)).toBeLessThan(
      loaded(line(group, goodPoints(), rules, tolerant).line, 38),
    )
  })

  it('widens the line by √(chi²/dof) where the points disagree, the declared fit staying as it is', () => {
    const {
      fit,
      line: used,
      widenedBy,
    } = line(group, [point(14, 11_060), point(38, 24_500), point(60, 34_040)], rules, () => ({
      ...scale,
      tolerancePercent: 0,
    }))
    expect(widenedBy).toBeCloseTo(Math.sqrt(fit.chi2 / fit.dof), 12)
    expect(widenedBy).toBeGreaterThan(1.9)
    expect(used.uA).toBeCloseTo(fit.uA * widenedBy, 9)
    expect(used.covAB).toBeCloseTo(fit.covAB * widenedBy ** 2, 6)
    expect({ a: used.a, b: used.b }).toEqual({ a: fit.a, b: fit.b })
  })

  it('refuses a point without pressure, without weight or without scale', () => {
    for (const bad of [point([null], 20_000), point(30, null), point(30, 20_000, { scaleId: null })]) {
      const result = calibrateGroup(group, calibration({ points: [...goodPoints(), bad] }), scaleOf, rules)
      expect(result).toMatchObject({ ok: false, problem: { code: 'point-incomplete', value: String(bad.readingId) } })
    }
  })

  it('hands on what the fit refuses', () => {
    expect(calibrateGroup(group, calibration({ points: [] }), scaleOf, rules)).toMatchObject({
      ok: false,
      problem: { code: 'too-few-points' },
    })
    expect(
      calibrateGroup(group, calibration({ points: [point(30, 19_000), point(30, 19_200)] }), scaleOf, rules),
    ).toMatchObject({ ok: false, problem: { code: 'identical-x' } })
  })

  it('takes House Rules without any ticket uncertainty: a pound stands in for none', () => {
    const certain = line(group, goodPoints(), { ...rules, ticketRepeatabilityLb: 0 }, () => ({
      ...scale,
      divisionLb: 0,
    }))
    expect(certain.points[0]?.uy).toBe(1)
  })
})
