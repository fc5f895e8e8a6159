import { describe, expect, it } from 'vitest'
import type { Observation } from '#core/evidence/history.ts'
import type { LiftState } from '#core/words/vocabulary.ts'
import {
  calibratedAt,
  calibration,
  check,
  checks,
  daysOn,
  find,
  goodPoints,
  history,
  judge,
} from '#tests/unit/group-history.ts'

const inState = (lift: LiftState | null, observations: readonly Observation[] = goodPoints()) =>
  observations.map((each) => ({ ...each, lift }))
const raised = calibration({ points: inState('raised') })
const lowered = calibration({
  calibrationId: 501,
  calibratedAt: daysOn(1),
  points: inState(
    'lowered',
    goodPoints().map((each) => ({ ...each, weightLb: (each.weightLb as number) - 3000 })),
  ),
})
const codes = (group: Parameters<typeof judge>[0], asOf = daysOn(300)) =>
  judge(group, { asOf }).findings.map(({ code }) => code)

describe('lift-state-mismatch', () => {
  it('counts the readings that no line of the group can weigh, since the first', () => {
    const observations = [
      ...inState('raised', checks([0, 0])),
      ...inState('lowered', [check(60), check(90)]),
      check(95),
    ]
    const finding = find(history({ calibrations: [raised], observations }), 'lift-state-mismatch')
    expect(finding).toMatchObject({
      severity: 'warn',
      since: daysOn(60),
      numbers: { readings: 2, calibrated_with: 'raised', read_with: 'lowered' },
    })
    expect(finding?.message).toBe(
      '2 readings since 2025-04-30 were taken with the lift axle lowered; the line was calibrated with it raised, so they cannot be weighed.',
    )
    expect(finding?.nextStep).toBe(
      'Read the pressure with the lift axle raised, then move it; or calibrate once with it lowered.',
    )
  })

  it('is settled by a line for the other state', () => {
    const observations = inState('lowered', [check(60, -3000)])
    expect(find(history({ calibrations: [raised, lowered], observations }), 'lift-state-mismatch')).toBeUndefined()
  })

  it('has nothing to say of readings without a state, of groups without a lift axle, or of readings before the calibration', () => {
    expect(
      find(
        history({
          calibrations: [raised],
          observations: [...inState(null, checks([0])), ...inState('none', checks([0], 32))],
        }),
        'lift-state-mismatch',
      ),
    ).toBeUndefined()
    expect(
      find(
        history({
          calibrations: [calibration({ points: inState('none') })],
          observations: inState('lowered', checks([0])),
        }),
        'lift-state-mismatch',
      ),
    ).toBeUndefined()
    expect(
      find(history({ calibrations: [raised], observations: inState('lowered', [check(-20)]) }), 'lift-state-mismatch'),
    ).toBeUndefined()
  })

  it('warns of a line whose points were taken in both states', () => {
    const [light, ...rest] = goodPoints()
    const mixed = calibration({ points: [{ ...(light as Observation), lift: 'lowered' }, ...inState('raised', rest)] })
    const finding = find(history({ calibrations: [mixed] }), 'lift-state-mismatch')
    expect(finding).toMatchObject({
      severity: 'warn',
      since: calibratedAt,
      numbers: { points: 1, calibrated_with: 'raised' },
    })
    expect(finding?.message).toBe(
      '1 point of the line of 2025-03-01 was taken with the lift axle lowered, the rest with it raised.',
    )
  })

  it('takes trust away where it stands so now, and leaves it alone where it has gone back', () => {
    const lowered = inState('lowered', [check(60)])
    const back = [...lowered, ...inState('raised', [check(70)])]
    expect(judge(history({ calibrations: [raised], observations: lowered })).trust).toBe('doubtful')
    expect(judge(history({ calibrations: [raised], observations: back })).trust).toBe('sound')
    expect(find(history({ calibrations: [raised], observations: back }), 'lift-state-mismatch')).toMatchObject({
      severity: 'note',
    })
  })
})

describe('a group with a line for each lift state', () => {
  const calibrations = [raised, lowered]

  it('tests each line by the checks of its own state', () => {
    const observations = [
      ...inState('raised', checks([0, 40, 0])),
      ...inState('lowered', checks([-3000, -2960, -3040], 64)),
    ]
    expect(codes(history({ calibrations, observations }))).toEqual([])
    const { lives } = judge(history({ calibrations, observations }))
    expect(lives.map((life) => life.checks.length)).toEqual([3, 3])
    expect(lives.map(({ endedAt }) => endedAt)).toEqual([Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY])
  })

  it('tells a shift of either line, though the other was calibrated later, and which of them it is', () => {
    const shifted = (lift: LiftState, offset: number) =>
      history({
        calibrations,
        observations: inState(lift, checks([0, 0, 1500, 1500, 1500, 1500].map((miss) => miss + offset))),
      })
    for (const [lift, offset] of [
      ['lowered', -3000],
      ['raised', 0],
    ] as const) {
      const judged = judge(shifted(lift, offset), { asOf: daysOn(120) })
      expect(judged.findings.map(({ code }) => code)).toEqual(['checks-drifting', 'uncertainty-over-tolerance'])
      expect(judged.trust).toBe('doubtful')
      expect(judged.findings[0]?.message).toContain(`than the line with the lift axle ${lift} reads`)
    }
  })

  it('ends a line by the next one of its state alone', () => {
    const again = calibration({
      calibrationId: 502,
      calibratedAt: daysOn(100),
      points: inState('raised').map((each) => ({ ...each, takenAt: daysOn(100) })),
    })
    const { lives } = judge(history({ calibrations: [raised, lowered, again] }), { asOf: daysOn(120) })
    expect(lives.map(({ endedAt }) => endedAt)).toEqual([
      daysOn(100),
      Number.POSITIVE_INFINITY,
      Number.POSITIVE_INFINITY,
    ])
  })
})
