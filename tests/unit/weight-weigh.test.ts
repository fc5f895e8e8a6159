import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import { type PressureReading, readPressure } from '#core/evidence/read-pressure.ts'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { predictWeight } from '#core/line/predict.ts'
import { type GroupWeighing, type WeighedGroup, prepareGroup, weighGroup } from '#core/weight/weigh.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import {
  calibration,
  dayMs,
  driveGroup,
  mount,
  observation,
  pointsAt,
  spring,
  terms,
} from '#tests/unit/weight-fleet.ts'
import { sayStored } from '#core/words/say.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'

function heavy(weighing: GroupWeighing): WeighedGroup {
  if (!weighing.weighed) throw new Error(weighing.reason)
  return weighing
}
/** With the reason's sentence in the stored measures. */
const told = (weighing: GroupWeighing) =>
  weighing.weighed ? weighing : { ...weighing, message: sayUnweighed(weighing.why, sayStored('UTC')) }
const reasonOf = (weighing: GroupWeighing) => (weighing.weighed ? 'weighed' : weighing.reason)
const later = spring + 30 * dayMs
const reading = (over: Partial<Observation> = {}) =>
  observation({ takenAt: later, ticketId: null, scaleId: null, weightLb: null, ...over })
const twoCircuits = (over = {}) =>
  driveGroup({
    circuits: ['left', 'right'].map((name, i) => ({
      circuitId: i + 1,
      name,
      airSprings: i === 0 ? 2 : 6,
      springAreaIn2: null,
      mounts: [mount({ serial: name })],
    })),
    calibrations: [
      calibration(
        spring,
        pointsAt(spring).map((point) => ({ ...point, psi: [point.psi[0] as number, point.psi[0] as number] })),
      ),
    ],
    ...over,
  })

/** The pressure that a reading has for the newest line of a group, with its standard uncertainty. */
function pressureOf(history: GroupHistory, taken: PressureReading): { psi: number; uPsi: number } {
  const line = prepareGroup(history, terms()).lines.at(-1)
  const found = line && readPressure(history, line, taken, defaultHouseRules.pressureResolutionPsi)
  if (!found || 'reason' in found) throw new Error('the reading has no pressure')
  return { psi: found.psi, uPsi: Math.hypot(defaultHouseRules.levelingPsi, Math.sqrt(found.resolutionVarPsi2)) }
}

describe('weighing a group', () => {
  it('reads the weight off the line with the uncertainty of line and pressure together', () => {
    const group = prepareGroup(driveGroup(), terms())
    const weighing = heavy(weighGroup(group, reading({ psi: [55] })))
    const pressure = pressureOf(driveGroup(), reading({ psi: [55] }))
    const expected = predictWeight(group.lines[0]?.line ?? { a: 0, b: 0, uA: 0, uB: 0, covAB: 0 }, 55, pressure.uPsi)
    expect(weighing.weightLb).toBeCloseTo(1000 + 480 * 55, 6)
    expect(weighing.uLb).toBeCloseTo(expected.u, 6)
    expect(weighing.psi).toBe(55)
    expect(weighing.uPsi).toBeCloseTo(pressure.uPsi, 12)
  })

  it('agrees with the pressure of the calibrations for any circuits, sensors and elevation', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 30, max: 90, noNaN: true }),
        fc.double({ min: 30, max: 90, noNaN: true }),
        fc.integer({ min: 0, max: 8000 }),
        fc.boolean(),
        (left, right, elevationFt, absolute) => {
          const base = twoCircuits()
          const history = {
            ...base,
            circuits: base.circuits.map((circuit) => ({
              ...circuit,
              mounts: [mount({ reference: absolute ? 'absolute' : 'gauge', resolutionPsi: absolute ? null : 0.5 })],
            })),
          }
          const taken = reading({ psi: [left, right], elevationFt })
          const weighing = weighGroup(prepareGroup(history, terms()), taken)
          const pressure = pressureOf(history, taken)
          if (!weighing.weighed) throw new Error(weighing.reason)
          expect(weighing.psi).toBeCloseTo(pressure.psi, 9)
          expect(weighing.uPsi).toBeCloseTo(pressure.uPsi, 9)
        },
      ),
    )
  })

  it('grows less sure with time by what the line may have wandered, never surer', () => {
    const group = prepareGroup(driveGroup(), terms({ wanderOf: () => (psi, days) => days * psi }))
    const still = heavy(weighGroup(prepareGroup(driveGroup(), terms()), reading()))
    const wandered = heavy(weighGroup(group, reading()))
    expect(wandered.uLb ** 2 - still.uLb ** 2).toBeCloseTo(30 * 50, 4)
    fc.assert(
      fc.property(
        fc.double({ min: 5, max: 90, noNaN: true }),
        fc.integer({ min: 0, max: 900 }),
        fc.integer({ min: 0, max: 900 }),
        (psi, one, other) => {
          const [early, late] = [Math.min(one, other), Math.max(one, other)].map(
            (days) => heavy(weighGroup(group, reading({ psi: [psi], takenAt: spring + days * dayMs }))).uLb,
          )
          expect(late).toBeGreaterThanOrEqual(early as number)
        },
      ),
    )
  })

  it('is less sure with a coarser sensor, a coarser scale and a looser valve', () => {
    const base = heavy(weighGroup(prepareGroup(driveGroup(), terms()), reading())).uLb
    const coarse = driveGroup({
      circuits: [
        { circuitId: 1, name: 'main', airSprings: 8, springAreaIn2: null, mounts: [mount({ resolutionPsi: 1 })] },
      ],
    })
    expect(heavy(weighGroup(prepareGroup(coarse, terms()), reading())).uLb).toBeGreaterThan(base)
    expect(heavy(weighGroup(prepareGroup(driveGroup(), terms({ levelingPsi: 0.8 })), reading())).uLb).toBeGreaterThan(
      base,
    )
    expect(
      heavy(
        weighGroup(
          prepareGroup(
            driveGroup(),
            terms({
              scaleOf: () => ({ scaleId: 1, name: 'N', divisionLb: 100, elevationFt: 0, tolerancePercent: 0.5 }),
            }),
          ),
          reading(),
        ),
      ).uLb,
    ).toBeGreaterThan(base)
  })

  it('keeps the scale apart without losing it: own and shared parts make up the whole variance of the line', () => {
    const [line] = prepareGroup(driveGroup(), terms()).lines
    if (!line) throw new Error('no line')
    const shared = line.shifts.reduce((sum, { da, db }) => sum + (da + 50 * db) ** 2, 0)
    expect(line.ownVarA + 2500 * line.ownVarB + 100 * line.ownCovAB + shared).toBeCloseTo(
      predictWeight(line.line, 50).u ** 2,
      6,
    )
    // One scale behind all points: its gain moves every weight in proportion.
    expect(line.shifts).toHaveLength(1)
    expect((line.shifts[0]?.da ?? 0) + 50 * (line.shifts[0]?.db ?? 0)).toBeCloseTo((25_000 * 0.002) / Math.sqrt(3), 0)
  })

  it('takes the newest line of its time, from its first point on', () => {
    const morning = spring + 10 * dayMs
    const noon = morning + dayMs / 4
    const second = pointsAt(morning).map((point) => ({ ...point, weightLb: (point.weightLb as number) + 700 }))
    const group = prepareGroup(
      driveGroup({ calibrations: [calibration(spring, pointsAt(spring)), calibration(noon, second, 2)] }),
      terms(),
    )
    expect(heavy(weighGroup(group, reading({ takenAt: morning - 1 }))).weightLb).toBeCloseTo(25_000, 6)
    expect(heavy(weighGroup(group, reading({ takenAt: morning }))).weightLb).toBeCloseTo(25_700, 6)
  })

  it('goes on with the line before where a calibration makes none', () => {
    const one = [observation({ takenAt: spring + dayMs })]
    const group = prepareGroup(
      driveGroup({ calibrations: [calibration(spring, pointsAt(spring)), calibration(spring + dayMs, one, 2)] }),
      terms(),
    )
    expect(heavy(weighGroup(group, reading())).line?.calibratedAt).toBe(spring)
  })
})

describe('a group that cannot be weighed says why', () => {
  it('no line: none, or only later ones', () => {
    expect(told(weighGroup(prepareGroup(driveGroup({ calibrations: [] }), terms()), reading()))).toMatchObject({
      reason: 'no line',
      message: 'T-1 drive was not weighed: no calibration of it makes a line.',
    })
    expect(reasonOf(weighGroup(prepareGroup(driveGroup(), terms()), reading({ takenAt: spring - 1 })))).toBe('no line')
  })

  it('upset: from the break after its calibration on, until the next calibration', () => {
    const at = spring + 10 * dayMs
    const history = driveGroup({
      calibrations: [
        calibration(spring, pointsAt(spring)),
        calibration(spring + 20 * dayMs, pointsAt(spring + 20 * dayMs), 2),
      ],
      events: [
        { happenedAt: spring - dayMs, kind: 'spring replaced', circuitId: null, note: null },
        { happenedAt: at, kind: 'valve replaced', circuitId: null, note: null },
      ],
    })
    const group = prepareGroup(history, terms())
    expect(reasonOf(weighGroup(group, reading({ takenAt: at - 1 })))).toBe('weighed')
    expect(told(weighGroup(group, reading({ takenAt: at })))).toMatchObject({
      reason: 'upset',
      message:
        'T-1 drive was not weighed: on 2026-03-11 a leveling valve was replaced, after its calibration of 2026-03-01.',
    })
    expect(reasonOf(weighGroup(group, reading({ takenAt: spring + 20 * dayMs })))).toBe('weighed')
  })

  it('other lift state: raised against lowered; unknown and none fit either', () => {
    const raised = prepareGroup(
      driveGroup({ calibrations: [calibration(spring, pointsAt(spring, { lift: 'raised' }))] }),
      terms(),
    )
    expect(
      [null, 'none', 'raised', 'lowered'].map((lift) =>
        reasonOf(weighGroup(raised, reading({ lift: lift as Observation['lift'] }))),
      ),
    ).toEqual(['weighed', 'weighed', 'weighed', 'other lift state'])
    const both = [
      calibration(spring, pointsAt(spring, { lift: 'lowered' })),
      calibration(spring + dayMs, pointsAt(spring + dayMs, { lift: 'raised' }), 2),
    ]
    expect(
      heavy(weighGroup(prepareGroup(driveGroup({ calibrations: both }), terms()), reading({ lift: 'lowered' }))).line
        ?.calibratedAt,
    ).toBe(spring)
    const mixed = pointsAt(spring).map((point, i) => ({ ...point, lift: i === 0 ? 'raised' : 'lowered' }) as const)
    expect(
      reasonOf(
        weighGroup(
          prepareGroup(driveGroup({ calibrations: [calibration(spring, mixed)] }), terms()),
          reading({ lift: 'raised' }),
        ),
      ),
    ).toBe('other lift state')
  })

  it('no pressure: none, or a circuit of its line not read', () => {
    expect(reasonOf(weighGroup(prepareGroup(driveGroup(), terms()), reading({ psi: [] })))).toBe('no pressure')
    expect(told(weighGroup(prepareGroup(twoCircuits(), terms()), reading({ psi: [50, null] })))).toMatchObject({
      reason: 'no pressure',
      message: 'T-1 drive was not weighed: circuit right, which its line was calibrated with, was not read.',
    })
    const leftOnly = twoCircuits({
      calibrations: [
        calibration(
          spring,
          pointsAt(spring).map((point) => ({ ...point, psi: [point.psi[0] as number, null] })),
        ),
      ],
    })
    expect(heavy(weighGroup(prepareGroup(leftOnly, terms()), reading({ psi: [50, 80] }))).psi).toBe(50)
  })

  it('elevation unknown: only for an absolute sensor', () => {
    const absolute = driveGroup({
      circuits: [
        { circuitId: 1, name: 'main', airSprings: 8, springAreaIn2: null, mounts: [mount({ reference: 'absolute' })] },
      ],
      calibrations: [
        calibration(
          spring,
          pointsAt(spring).map((point) => ({ ...point, psi: [(point.psi[0] as number) + atmosphericPsi(600)] })),
        ),
      ],
    })
    const group = prepareGroup(absolute, terms())
    expect(reasonOf(weighGroup(group, reading({ elevationFt: null })))).toBe('elevation unknown')
    expect(
      heavy(weighGroup(group, reading({ psi: [50 + atmosphericPsi(5000)], elevationFt: 5000 }))).weightLb,
    ).toBeCloseTo(25_000, 4)
    expect(reasonOf(weighGroup(prepareGroup(driveGroup(), terms()), reading({ elevationFt: null })))).toBe('weighed')
  })

  it('below nothing, and not measured', () => {
    expect(reasonOf(weighGroup(prepareGroup(driveGroup(), terms()), reading({ psi: [-5] })))).toBe('below nothing')
    expect(reasonOf(weighGroup(prepareGroup(driveGroup({ measuredBy: 'ticket' }), terms()), reading()))).toBe(
      'not measured',
    )
  })
})
