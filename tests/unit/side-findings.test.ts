import { describe, expect, it } from 'vitest'
import type { CircuitFacts, Observation } from '#core/evidence/history.ts'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { circuit, daysOn, find, history, judge, mount, point } from '#tests/unit/group-history.ts'

const sides = (change: readonly [Partial<CircuitFacts>, Partial<CircuitFacts>] = [{}, {}]) => [
  circuit({ name: 'left', ...change[0] }),
  circuit({ circuitId: 101, name: 'right', mounts: [mount({ serial: 'S-2' })], ...change[1] }),
]
/** Readings a day apart, without tickets, from pairs of left and right pressure. */
const readings = (pairs: readonly (readonly (number | null)[])[]): Observation[] =>
  pairs.map((psi, i) => point(psi, null, { takenAt: daysOn(1 + i), ticketId: null, scaleId: null }))
const group = (pairs: readonly (readonly (number | null)[])[], circuits = sides()) =>
  history({ circuits, calibrations: [], observations: readings(pairs) })
const even = [50, 50.5] as const
const high = [56, 44] as const
const found = (pairs: readonly (readonly (number | null)[])[], circuits = sides()) =>
  find(group(pairs, circuits), 'side-imbalance')

describe('side-imbalance', () => {
  it('tells which side stands higher, by how much, and since when', () => {
    const finding = found([even, even, even, high, high, high, high])
    expect(finding).toMatchObject({
      severity: 'warn',
      groupId: 10,
      circuitId: 100,
      since: daysOn(4),
      numbers: { difference_psi: 12, mean_psi: 50, allowed_psi: 5, readings: 5 },
    })
    expect(finding?.message).toBe('Since 2025-03-05 circuit left has stood 12.0 psi above right; 5.0 psi is allowed.')
    expect(
      found([
        [44, 56],
        [44, 56],
        [44, 56],
      ]),
    ).toMatchObject({
      circuitId: 101,
      message: 'Since 2025-03-02 circuit right has stood 12.0 psi above left; 5.0 psi is allowed.',
    })
  })

  it('needs three readings of both sides, and the middle one of the last five beyond the bound', () => {
    expect(found([high, high])).toBeUndefined()
    expect(found([high, high, [56, null], [null, 44]])).toBeUndefined()
    expect(found([high, high, [56, null], high])).toMatchObject({ since: daysOn(1), numbers: { readings: 3 } })
    expect(found([high, high, even, even, even])).toBeUndefined()
    expect(found([even, even, high, high, high])).toMatchObject({ since: daysOn(3) })
  })

  it('does not care for a single odd reading, as of kilopascals on one side', () => {
    expect(found([even, even, [345, 50], even, even])).toBeUndefined()
    expect(found([even, even, even, even, [345, 50]])).toBeUndefined()
  })

  it('takes the larger of the two bounds of the House Rules', () => {
    const light = [
      [8, 4.5],
      [8, 4.5],
      [8, 4.5],
    ]
    expect(found(light)).toBeUndefined()
    expect(find(group(light), 'side-imbalance', { rules: { sideImbalancePsi: 2 } })).toBeDefined()
    expect(find(group([high, high, high]), 'side-imbalance', { rules: { sideImbalancePercent: 30 } })).toBeUndefined()
    const edge = [
      [52.5, 47.5],
      [52.5, 47.5],
      [52.5, 47.5],
    ]
    expect(found(edge)).toBeUndefined()
    expect(found(edge.map(([left = 0, right = 0]) => [left + 0.1, right]))).toBeDefined()
  })

  it('is about left and right: not about circuits by axle, one circuit, or three', () => {
    expect(found([high, high, high], sides([{ name: 'front axle' }, { name: 'rear axle' }]))).toBeUndefined()
    expect(find(history({ observations: readings([[50], [90], [20]]) }), 'side-imbalance')).toBeUndefined()
    expect(
      found(
        [
          [50, 80, 20],
          [50, 80, 20],
          [50, 80, 20],
        ],
        [...sides(), circuit({ circuitId: 102, name: 'middle' })],
      ),
    ).toBeUndefined()
  })

  it('compares gauge with gauge where one sensor is absolute', () => {
    const absolute = sides([{}, { mounts: [mount({ serial: 'S-2', reference: 'absolute' })] }])
    const air = atmosphericPsi(800)
    expect(
      found(
        [
          [50, 50 + air],
          [50, 50 + air],
          [50, 50 + air],
        ],
        absolute,
      ),
    ).toBeUndefined()
    expect(
      found(
        [
          [50, 50],
          [50, 50],
          [50, 50],
        ],
        absolute,
      ),
    ).toMatchObject({ circuitId: 100 })
  })

  it('leaves trust in the line alone', () => {
    const points = [14, 38, 60].map((psi) => point([psi, psi], 4000 + 500 * psi))
    const calibrated = { ...history().calibrations[0], points } as ReturnType<typeof history>['calibrations'][number]
    const judged = judge(
      history({ circuits: sides(), calibrations: [calibrated], observations: readings([high, high, high]) }),
    )
    expect(judged.findings.map(({ code }) => code)).toEqual(['side-imbalance'])
    expect(judged.trust).toBe('sound')
  })
})
