import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { GroupHistory, Observation, TicketFacts } from '#core/evidence/history.ts'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { sumSupports, transpositions } from '#core/evidence/slips.ts'
import {
  calibration,
  check,
  checks,
  circuit,
  daysOn,
  goodPoints,
  history,
  judge,
  judgeFleet,
  lineLb,
  mount,
  point,
  scale,
  ticket,
} from '#tests/unit/group-history.ts'

const divisions = fc.constantFrom(1, 2, 5, 10, 20, 50)
const weighed = fc
  .tuple(divisions, fc.integer({ min: 1, max: 8000 }))
  .map(([division, count]) => ({ division, weight: count * division }))

describe('transpositions', () => {
  it('are the weight with two neighbouring digits changed over, and nothing else', () => {
    fc.assert(
      fc.property(weighed, ({ division, weight }) => {
        for (const value of transpositions(weight, division)) {
          const [one, two] = [String(weight), String(value)]
          const differing = [...one].flatMap((digit, i) => (digit === two[i] ? [] : [i]))
          expect(two).toHaveLength(one.length)
          expect(differing).toHaveLength(2)
          expect((differing[1] as number) - (differing[0] as number)).toBe(1)
          expect([one[differing[0] as number], one[differing[1] as number]]).toEqual([
            two[differing[1] as number],
            two[differing[0] as number],
          ])
          expect(value % division).toBe(0)
        }
      }),
    )
  })

  it('lead back: what was typed is among the transpositions of what fits', () => {
    fc.assert(
      fc.property(weighed, ({ division, weight }) => {
        for (const value of transpositions(weight, division)) expect(transpositions(value, division)).toContain(weight)
      }),
    )
  })

  it('are known for a weight by hand (20 lb divisions print no 31,406, and nobody 01,460)', () => {
    expect(transpositions(31_460, 20).toSorted((a, b) => a - b)).toEqual([13_460, 31_640, 34_160])
    expect(transpositions(31_460, 2).toSorted((a, b) => a - b)).toEqual([13_460, 31_406, 31_640, 34_160])
    expect(transpositions(10_460, 20).toSorted((a, b) => a - b)).toEqual([10_640, 14_060])
    expect(transpositions(22_220, 10)).toEqual([])
    expect(transpositions(0, 20)).toEqual([])
  })

  it('are none for a weight that is no whole number of pounds', () => {
    expect(transpositions(31_460.5, 0.5)).toEqual([])
  })
})

describe('sumSupports', () => {
  const off = (by: number, change: Partial<TicketFacts> = {}) =>
    ticket({ weightsLb: [11_900, 34_000 + by, 34_000], grossLb: 79_900, ...change })

  it('says yes to the correction that makes a wrong sum right, no to another', () => {
    expect(sumSupports(off(900), -900, 20)).toBe(true)
    expect(sumSupports(off(900), -980, 20)).toBe(true)
    expect(sumSupports(off(900), -1800, 20)).toBe(false)
    expect(sumSupports(off(900), 900, 20)).toBe(false)
  })

  it('says nothing of a sum that is right, of a ticket without gross, with groups missing, or of none', () => {
    expect(sumSupports(off(0), -900, 20)).toBeNull()
    expect(sumSupports(off(80), -900, 20)).toBeNull()
    expect(sumSupports(off(900, { grossLb: null }), -900, 20)).toBeNull()
    expect(sumSupports(off(900, { complete: false }), -900, 20)).toBeNull()
    expect(sumSupports(undefined, -900, 20)).toBeNull()
  })
})

const quiet = [60, -140, 40, 0]
const judgedWith = (
  observations: readonly Observation[],
  change: Partial<GroupHistory> = {},
  tickets: readonly TicketFacts[] = [],
) =>
  judge(history({ observations, ...change }), {
    asOf: Math.max(...observations.map(({ takenAt }) => takenAt)) + 1,
    tickets,
  })
const codes = (judged: ReturnType<typeof judge>) => judged.findings.map(({ code }) => code)
/** 33,000 lb with its second and third digit changed over. */
const mistyped = (days: number, change: Partial<Observation> = {}): Observation => ({
  ...check(days),
  weightLb: 30_300,
  ...change,
})
const sumTicket = (observation: Observation, grossLb: number | null): TicketFacts =>
  ticket({
    ticketId: observation.ticketId as number,
    weighedAt: observation.takenAt,
    groupIds: [9, 10],
    weightsLb: [11_900, observation.weightLb as number],
    grossLb,
  })

describe('digits-transposed', () => {
  it('explains a lone miss between checks that agree, offers the value, and leaves the line sound', () => {
    const slipped = mistyped(80)
    const judged = judgedWith([...checks(quiet), slipped, ...checks([20], 96)])
    expect(codes(judged)).toEqual(['digits-transposed'])
    expect(judged.trust).toBe('sound')
    expect(judged.findings[0]).toMatchObject({
      severity: 'warn',
      since: daysOn(80),
      ticketId: slipped.ticketId,
      scaleId: scale.scaleId,
      numbers: { typed_lb: 30_300, fits_lb: 33_000 },
      message:
        'The ticket of 2025-05-20 has 30,300 lb for this group, which does not fit; 33,000 lb, with two digits of the printed weight the other way round, would.',
      nextStep: 'Compare the ticket with the paper; if it says 33,000 lb, correct the ticket.',
    })
  })

  it('waits for the next check where nothing but the value speaks for it', () => {
    const judged = judgedWith([...checks(quiet), mistyped(80)])
    expect([codes(judged), judged.trust]).toEqual([['check-missed', 'uncertainty-over-tolerance'], 'doubtful'])
  })

  it('is believed at once where it puts the sum of the ticket right', () => {
    const slipped = mistyped(80)
    const judged = judgedWith([...checks(quiet), slipped], {}, [sumTicket(slipped, 11_900 + 33_000)])
    expect([codes(judged), judged.trust]).toEqual([['digits-transposed'], 'sound'])
  })

  it('is not believed where it puts the sum of the ticket wrong', () => {
    const slipped = mistyped(80)
    expect(
      codes(judgedWith([...checks(quiet), slipped, ...checks([20], 96)], {}, [sumTicket(slipped, 60_000)])),
    ).not.toContain('digits-transposed')
  })

  it('does not explain the first checks of a lasting shift', () => {
    const shifted = [mistyped(80), check(96, -2700), check(112, -2700)]
    expect(codes(judgedWith([...checks(quiet), ...shifted]))).toEqual(['checks-drifting', 'uncertainty-over-tolerance'])
  })

  it('does not explain a miss that no swap of digits mends', () => {
    const odd = { ...check(80), weightLb: 30_000 }
    expect(codes(judgedWith([...checks(quiet), odd, ...checks([20], 96)]))).not.toContain('digits-transposed')
  })

  it('is found in one of four points of a calibration that then agree', () => {
    const points = [point(14, 11_000), point(30, 19_000), point(46, 20_700), point(60, 34_000)]
    const judged = judge(history({ calibrations: [calibration({ points })] }))
    expect(codes(judged)).toEqual(expect.arrayContaining(['points-disagree', 'digits-transposed']))
    expect(judged.findings.find(({ code }) => code === 'digits-transposed')).toMatchObject({
      ticketId: points[2]?.ticketId,
      numbers: { typed_lb: 20_700, fits_lb: 27_000 },
    })
  })

  it('is not read into three points, which almost any change mends', () => {
    const points = [point(14, 11_000), point(38, 20_300), point(60, 34_000)]
    const found = codes(judge(history({ calibrations: [calibration({ points })] })))
    expect(found).toContain('points-disagree')
    expect(found).not.toContain('digits-transposed')
  })
})

const kPa = 6.894757293168361
const bar = 14.503773773020923
const withPsi = (observation: Observation, ...psi: (number | null)[]): Observation => ({ ...observation, psi })

describe('wrong-pressure-unit', () => {
  it.each([
    ['kPa', 58 * kPa, 399.9],
    ['bar', 58 / bar, 4],
  ] as const)('explains a pressure in %s at once, and leaves the line sound', (unit, psi, typed) => {
    const judged = judgedWith([...checks(quiet), withPsi(check(80), Math.round(psi * 100) / 100)])
    expect([codes(judged), judged.trust]).toEqual([['wrong-pressure-unit'], 'sound'])
    const [found] = judged.findings
    expect(found).toMatchObject({ severity: 'warn', since: daysOn(80), circuitId: null, numbers: { unit } })
    expect(found?.numbers['typed_psi'] as number).toBeCloseTo(typed, 1)
    expect(found?.numbers['fits_psi'] as number).toBeCloseTo(58, 1)
    expect(found?.message).toBe(
      `The pressure ${typed.toFixed(1)} psi of 2025-05-20 looks like ${unit} typed as another unit: 58.0 psi would fit the line.`,
    )
    expect(found?.nextStep).toBe(`Look at the gauge's unit; if it showed ${unit}, correct the reading to 58.0 psi.`)
  })

  const circuits = [
    circuit({ name: 'left' }),
    circuit({ circuitId: 101, name: 'right', mounts: [mount({ serial: 'S-2' })] }),
  ]
  const pairOf = (observation: Observation) =>
    withPsi(observation, observation.psi[0] as number, observation.psi[0] as number)
  const pair = { circuits, calibrations: [calibration({ points: goodPoints().map(pairOf) })] }

  it('tells which of two circuits it is', () => {
    for (const [place, circuitId] of [
      [0, 100],
      [1, 101],
    ] as const) {
      const psi = [58, 58]
      psi[place] = 399.9
      const judged = judgedWith([...checks(quiet).map(pairOf), withPsi(check(80), ...psi)], pair)
      expect([codes(judged), judged.trust]).toEqual([['wrong-pressure-unit'], 'sound'])
      expect(judged.findings[0]).toMatchObject({ circuitId, numbers: { typed_psi: 399.9, unit: 'kPa' } })
      expect(judged.findings[0]?.numbers['fits_psi'] as number).toBeCloseTo(58, 1)
    }
  })

  it('tells when both circuits of a pair are in kPa', () => {
    const judged = judgedWith([...checks(quiet).map(pairOf), withPsi(check(80), 390, 410)], pair)
    expect(codes(judged)).toEqual(['wrong-pressure-unit'])
    expect(judged.findings[0]).toMatchObject({ circuitId: null, numbers: { typed_psi: 400, unit: 'kPa' } })
    expect(judged.findings[0]?.message).toBe(
      'The pressures of 2025-05-20, 400.0 psi in the mean, look like kPa typed as another unit: 58.0 psi would fit the line.',
    )
    expect(judged.findings[0]?.nextStep).toBe(
      "Look at the gauge's unit; if it showed kPa, enter each pressure again with its unit behind it.",
    )
  })

  it('offers an absolute sensor what it would have shown, not the gauge pressure', () => {
    const air = atmosphericPsi(800)
    const absolute = [circuit({ mounts: [mount({ reference: 'absolute' })] })]
    const raised = (observation: Observation) => withPsi(observation, (observation.psi[0] as number) + air)
    const calibrations = [calibration({ points: goodPoints().map(raised) })]
    const typed = Math.round((58 + air) * kPa * 10) / 10
    const judged = judgedWith([...checks(quiet).map(raised), withPsi(check(80), typed)], {
      circuits: absolute,
      calibrations,
    })
    expect(codes(judged)).toEqual(['wrong-pressure-unit'])
    expect(judged.findings[0]?.numbers['typed_psi']).toBe(typed)
    expect(judged.findings[0]?.numbers['fits_psi'] as number).toBeCloseTo(58 + air, 1)
    expect(judged.findings[0]?.nextStep).toContain(`correct the reading to ${(58 + air).toFixed(1)} psi`)
  })

  it.each([
    [399.9, 399.9],
    [58, 399.9],
  ] as const)('is found in a calibration point of two circuits, %d and %d psi', (left, right) => {
    const points = [
      pairOf(point(14, 11_060)),
      pairOf(point(38, 22_900)),
      withPsi(point(58, 33_020), left, right),
      pairOf(point(60, 34_040)),
    ]
    const judged = judge(history({ circuits, calibrations: [calibration({ points })] }))
    expect(codes(judged)).toContain('wrong-pressure-unit')
    expect(judged.findings.find(({ code }) => code === 'wrong-pressure-unit')).toMatchObject({
      ticketId: points[2]?.ticketId,
      circuitId: left === right ? null : 101,
      numbers: { unit: 'kPa' },
    })
  })

  it('is found in one of three calibration points, since nothing else makes a factor of seven', () => {
    const points = [point(14, 11_060), point(38, 22_900), point(413.7, 34_040)]
    expect(codes(judge(history({ calibrations: [calibration({ points })] })))).toContain('wrong-pressure-unit')
  })

  it('does not explain a pressure that fits no better in kPa or bar', () => {
    expect(codes(judgedWith([...checks(quiet), withPsi(check(80), 120)]))[0]).toBe('check-missed')
    expect(codes(judgedWith([...checks(quiet), withPsi(check(80), 120)]))).not.toContain('wrong-pressure-unit')
  })
})

describe('groups-swapped', () => {
  const at = daysOn(80)
  const trailerOf = (change: Partial<GroupHistory> = {}) =>
    history({
      groupId: 20,
      unitId: 2,
      unit: 'V-7',
      unitKind: 'trailer',
      group: 'tandem',
      role: 'trailer',
      circuits: [circuit({ circuitId: 200 })],
      calibrations: [calibration({ calibrationId: 600, points: goodPoints() })],
      ...change,
    })
  const shared = ticket({ ticketId: 77, weighedAt: at, grossLb: null, groupIds: [10, 20], weightsLb: [24_000, 33_000] })
  const onTicket = (psi: number, weightLb: number) => point(psi, weightLb, { takenAt: at, ticketId: 77 })
  const drive = history({ observations: [...checks(quiet), onTicket(58, 24_000)] })
  const trailer = trailerOf({ observations: [...checks(quiet), onTicket(40, 33_000)] })

  it('is told by both groups at once, and leaves both lines sound', () => {
    const { groups } = judgeFleet([drive, trailer], { asOf: at + 1, tickets: [shared] })
    expect(groups.map(({ trust, findings }) => [trust, findings.map(({ code }) => code)])).toEqual([
      ['sound', ['groups-swapped']],
      ['sound', ['groups-swapped']],
    ])
    expect(groups[0]?.findings[0]).toMatchObject({
      unitId: 1,
      groupId: 10,
      ticketId: 77,
      since: at,
      numbers: { typed_lb: 24_000, fits_lb: 33_000 },
      message:
        'On the ticket of 2025-05-20 this group has 24,000 lb, which does not fit; the 33,000 lb of another group on that ticket would. The two look swapped.',
    })
    expect(groups[1]?.findings[0]).toMatchObject({
      unitId: 2,
      groupId: 20,
      numbers: { typed_lb: 33_000, fits_lb: 24_000 },
    })
  })

  it('is not believed when the other group fits as it is', () => {
    const fitting = trailerOf({ observations: [...checks(quiet), onTicket(58, 33_000)] })
    const { groups } = judgeFleet([drive, fitting], { asOf: at + 1, tickets: [shared] })
    expect(groups.map(({ findings }) => findings.map(({ code }) => code))).toEqual([['check-missed'], []])
  })

  it('with a group that has no line of its own is told where it beats noise by its odds', () => {
    const steer = ticket({ ticketId: 77, weighedAt: at, grossLb: null, groupIds: [9, 10], weightsLb: [33_000, 24_000] })
    const alone = judgeFleet([drive], { asOf: at + 1, tickets: [steer] }).groups[0]
    // 9,000 lb off, and the other weight fits to the pound: noise does not do that.
    expect(alone?.findings.map(({ code }) => code)).toEqual(['groups-swapped'])
    const answered = history({ observations: [...checks(quiet), onTicket(58, 24_000), check(96, 20)] })
    const later = judgeFleet([answered], { asOf: daysOn(97), tickets: [steer] }).groups[0]
    expect(later?.findings.map(({ code }) => code)).toEqual(['groups-swapped'])
  })

  it('is no matter of a group that fits, nor of equal weights', () => {
    const fits = judgeFleet([history({ observations: [...checks(quiet), onTicket(58, 33_000)] })], {
      asOf: at + 1,
      tickets: [shared],
    })
    expect(fits.groups[0]?.findings).toEqual([])
    expect(lineLb(40)).toBe(24_000)
    const equal = ticket({
      ticketId: 77,
      weighedAt: at,
      grossLb: null,
      groupIds: [10, 20],
      weightsLb: [24_000, 24_000],
    })
    expect(
      judgeFleet([drive, trailer], { asOf: at + 1, tickets: [equal] }).groups[0]?.findings.map(({ code }) => code),
    ).toEqual(['check-missed'])
  })
})
