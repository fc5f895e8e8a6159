import { describe, expect, it } from 'vitest'
import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import { sumOutcome } from '#core/evidence/sum-tests.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { Random } from '#demo/simulation/random.ts'
import {
  calibratedAt,
  calibration,
  circuit,
  dayMs,
  daysOn,
  history,
  judgeFleet,
  scale,
} from '#tests/unit/group-history.ts'

/**
 * A truck whose tandem and tag each have a circuit, weighed apart when calibrated and together on one platform since.
 */
const lines = {
  drive: { groupId: 10, a: 4000, b: 500, empty: 14, full: 60 },
  tag: { groupId: 11, a: 1500, b: 260, empty: 10, full: 55 },
} as const
type Name = keyof typeof lines

const levelingPsi = defaultHouseRules.levelingPsi
const rounded = (lb: number): number => Math.round(lb / 20) * 20

interface Weighed {
  readonly days: number
  readonly load: number
  /** What each line has moved by, lb. */
  readonly moved?: Partial<Record<Name, number>>
  /** Weighed apart; else on one platform. */
  readonly apart?: boolean
}

let id = 0

/** One weighing of the truck: what the gauges read, and what the scale shows of either group or of both. */
function weigh(random: Random, { days, load, moved = {}, apart = false }: Weighed): Record<Name, Observation> {
  id += 1
  const gain = 1
  const truth = (name: Name) => {
    const { a, b, empty, full } = lines[name]
    const psi = empty + load * (full - empty)
    const shown = psi + random.normal(levelingPsi)
    const lb = (a + b * psi + (moved[name] ?? 0)) * gain
    return { psi: Math.round(shown * 10) / 10, lb }
  }
  const drive = truth('drive')
  const tag = truth('tag')
  const ticket = () => random.normal(40)
  const sumLb = rounded(drive.lb + tag.lb + ticket())
  const observe = (own: { psi: number; lb: number }, withGroupId: number): Observation => ({
    readingId: id,
    takenAt: daysOn(days),
    elevationFt: 800,
    temperatureF: null,
    lift: null,
    psi: [own.psi],
    ticketId: apart ? 5000 + id : null,
    scaleId: apart ? scale.scaleId : null,
    weightLb: apart ? rounded(own.lb + ticket()) : null,
    ...(!apart && { together: { ticketId: 5000 + id, scaleId: scale.scaleId, withGroupId, weightLb: sumLb } }),
  })
  return { drive: observe(drive, lines.tag.groupId), tag: observe(tag, lines.drive.groupId) }
}

/** The truck with what was weighed of it; the first three weighings, apart, are its calibrations. */
function truck(seed: string, later: readonly Weighed[]): GroupHistory[] {
  const random = new Random(seed)
  const points = [0.05, 0.5, 0.95].map((load, i) => weigh(random, { days: -0.2 + i / 20, load, apart: true }))
  const since = later.map((one) => weigh(random, one))
  return (['drive', 'tag'] as const).map((name) =>
    history({
      groupId: lines[name].groupId,
      unitId: 1,
      group: name,
      limitLb: name === 'drive' ? 34_000 : 17_000,
      axles: name === 'drive' ? 2 : 1,
      circuits: [circuit({ circuitId: lines[name].groupId, springAreaIn2: name === 'drive' ? 109 : 57 })],
      calibrations: [
        calibration({ calibrationId: lines[name].groupId, points: points.map((point) => point[name]), calibratedAt }),
      ],
      observations: since.map((one) => one[name]),
    }),
  )
}

const judged = (groups: readonly GroupHistory[], days = 120) =>
  judgeFleet(groups, { asOf: calibratedAt + days * dayMs, rules: { levelingPsi } })

const together = (groups: readonly GroupHistory[]) =>
  judged(groups).groups.map(({ findings }) => findings.filter(({ variant }) => variant.startsWith('together')))

const sums = (loads: readonly number[], moved: Weighed['moved'] = {}): Weighed[] =>
  loads.map((load, i) => ({ days: 20 + 10 * i, load, moved }))

describe('a weight of two groups on one platform', () => {
  it('makes findings of clean units no oftener than chance does', () => {
    const units = 250
    let found = 0
    for (let i = 0; i < units; i += 1)
      found += (together(truck(`clean ${i}`, sums([0.9, 0.4, 0.8, 1])))[0] ?? []).length
    // 0.3 % of the newest, of the older ones and of their runs: seven or eight of 1,000 sums, and four times the
    // spread.
    expect(found).toBeLessThanOrEqual(9)
  })

  it('tells of a line that has moved, by its size, on both lines alike', () => {
    for (const [name, lb] of [
      ['drive', 2400],
      ['tag', -2100],
    ] as const) {
      const misses: number[] = []
      for (let i = 0; i < 25; i += 1) {
        const [drive = [], tag = []] = together(truck(`${name} ${i}`, sums([0.9, 0.8, 0.95, 1], { [name]: lb })))
        expect(drive.map(({ code }) => code)).toEqual(['checks-drifting'])
        expect(tag.map(({ code }) => code)).toEqual(['checks-drifting'])
        const miss = Number(drive[0]?.numbers['recent_miss_lb'])
        expect(tag[0]?.numbers['recent_miss_lb']).toBeCloseTo(miss, 6)
        expect(Math.abs(miss - lb)).toBeLessThan(4 * Number(drive[0]?.numbers['u_miss_lb']))
        misses.push(miss)
      }
      const mean = misses.reduce((sum, one) => sum + one, 0) / misses.length
      expect(Math.abs(mean - lb)).toBeLessThan(150)
    }
  })

  it('takes trust from both, and says to weigh them apart', () => {
    const { groups } = judged(truck('trust', sums([0.9, 1, 0.95], { drive: 2500 })))
    for (const { trust, findings } of groups) {
      expect(trust).toBe('doubtful')
      expect(findings[0]).toMatchObject({ code: 'checks-drifting', variant: 'together' })
      expect(findings[0]?.message).toContain('one of the two lines has moved, or both')
      expect(findings[0]?.nextStep).toContain('apart')
    }
    expect(groups[0]?.findings[0]?.message).toContain('for this group and tag')
    expect(groups[1]?.findings[0]?.message).toContain('for this group and drive')
  })

  it('leaves lines, best weights and slips as they are without it', () => {
    const seed = 'as without'
    const with_ = judged(truck(seed, sums([0.9, 0.8], { drive: 2600 }))).groups
    const without = judged(truck(seed, [])).groups
    for (const [i, { current, forecast, trails, lives }] of with_.entries()) {
      expect(current?.fit).toEqual(without[i]?.current?.fit)
      expect(forecast).toEqual(without[i]?.forecast)
      expect(lives[0]?.checks).toEqual([])
      expect(trails[0]?.slips.size).toBe(0)
    }
  })

  it('speaks of one wild weighing as of one that missed, and of none once both were weighed apart', () => {
    const wild: Weighed[] = [
      { days: 20, load: 0.9 },
      { days: 40, load: 0.9, moved: { drive: 3500 } },
    ]
    const open = together(truck('wild', wild))
    for (const [finding] of open) expect(finding).toMatchObject({ code: 'check-missed', severity: 'warn' })
    const apart: Weighed[] = [...wild, { days: 60, load: 0.9, apart: true }]
    for (const [finding] of together(truck('wild', apart)))
      expect(finding).toMatchObject({ code: 'check-missed', severity: 'note', variant: 'together answered' })
    const later: Weighed[] = [...wild, { days: 60, load: 0.9 }]
    for (const [finding] of together(truck('wild', later))) expect(finding).toMatchObject({ severity: 'note' })
  })

  it('tests nothing where one of the two cannot be weighed', () => {
    const [drive, tag] = truck('blind', sums([0.9, 0.95], { drive: 4000 })) as [GroupHistory, GroupHistory]
    const blind = { ...tag, observations: tag.observations.map((one) => ({ ...one, psi: [null] })) }
    expect(judged([drive, blind]).groups.flatMap(({ standings }) => standings.flatMap((one) => one.sums))).toEqual([])
    expect(judged([drive]).groups.flatMap(({ standings }) => standings.flatMap((one) => one.sums))).toEqual([])
  })

  it('leaves to each line what the other does not weigh', () => {
    const [drive, tag] = judged(truck('left', sums([0.9], { drive: 900 }))).groups.map(
      ({ standings }) => standings[0]?.sums[0],
    )
    expect(drive?.sumLb).toBe(tag?.sumLb)
    expect(drive?.missLb).toBeCloseTo(tag?.missLb as number, 6)
    expect((drive?.leftLb ?? 0) + (tag?.leftLb ?? 0)).toBeCloseTo((drive?.sumLb ?? 0) + (drive?.missLb ?? 0), -1)
  })
})

describe('several sums together', () => {
  const test = (missLb: number, answered = false) => ({
    at: 0,
    readingId: 1,
    ticketId: 1,
    scaleId: 1,
    withGroupId: 11,
    sumLb: 45_000,
    expectedLb: 45_000 - missLb,
    leftLb: 0,
    missLb,
    varOwnLb2: 200 ** 2,
    varSharedLb2: 150 ** 2,
    chance: Math.abs(missLb) > 750 ? 0.002 : 0.5,
    answered,
  })

  it('average what is their own and keep what they share', () => {
    const { standing, missLb, uMissLb } = sumOutcome([test(900), test(1000), test(1100)], 99.7)
    expect(standing).toBe('moved')
    expect(missLb).toBeCloseTo(1000)
    expect(uMissLb).toBeCloseTo(Math.hypot(200 / Math.sqrt(3), 150))
  })

  it('are no run where the newest came back', () => {
    expect(sumOutcome([test(900), test(1000), test(40)], 99.7).standing).toBe('answered')
    expect(sumOutcome([test(100), test(-90), test(40)], 99.7).standing).toBe('holds')
    expect(sumOutcome([test(900, true), test(1000, true)], 99.7).standing).toBe('answered')
    expect(sumOutcome([], 99.7).standing).toBe('holds')
  })
})
