import { describe, expect, it } from 'vitest'
import type { Observation, ScaleFacts } from '#core/evidence/history.ts'
import { type SteerTicket, fleetSteerScatterLb } from '#core/weight/steer.ts'
import { tareBook, tareOf } from '#core/weight/tare.ts'
import { cargoOf, grossOf, judgeWeight } from '#core/weight/verdict.ts'
import { type UnitToWeigh, planCombination, weighCombination } from '#core/weight/weigh-combination.ts'
import { prepareGroup } from '#core/weight/weigh.ts'
import { type HouseRules, defaultHouseRules } from '#core/words/house-rules.ts'
import {
  calibration,
  dayMs,
  driveGroup,
  mount,
  normalFrom,
  observation,
  spring,
  terms,
} from '#tests/unit/weight-fleet.ts'
import { seeded } from '#tests/seeded.ts'

const trucks = 400
const readingsEach = 25
const levelingPsi = defaultHouseRules.levelingPsi
const repeatabilityLb = defaultHouseRules.ticketRepeatabilityLb
/** Random walk of both ends of a line together, lb² a day. */
const wanderLb2 = 150

/** The true behaviour of one group: pressure from weight, with an offset that wanders. */
interface TrueGroup {
  readonly emptyLb: number
  readonly a: number
  readonly b: number
  wanderLb: number
}

const scales: ScaleFacts[] = [1, 2, 3].map((scaleId) => ({
  scaleId,
  name: `N${scaleId}`,
  divisionLb: 20,
  elevationFt: 0,
  tolerancePercent: 0.2,
}))
const scaleOf = (id: number) => scales.find(({ scaleId }) => scaleId === id)
const place = { limitLb: null, axleSpacingFt: 4, firstAxleFt: 16 }
const units: UnitToWeigh[] = [
  {
    unitId: 1,
    unit: 'T-1',
    kind: 'tractor',
    grossLimitLb: null,
    fifthWheelFt: 15,
    groups: [
      { ...place, groupId: 1, group: 'steer', role: 'steer', axles: 1, measuredBy: 'estimate' },
      { ...place, groupId: 2, group: 'drive', role: 'drive', axles: 2, measuredBy: 'circuit' },
    ],
  },
  {
    unitId: 2,
    unit: 'R-1',
    kind: 'trailer',
    grossLimitLb: null,
    fifthWheelFt: null,
    groups: [{ ...place, groupId: 3, group: 'tandem', role: 'trailer', axles: 2, measuredBy: 'circuit' }],
  },
]

/** Random numbers of one simulation and what they make: pressures and tickets as a fleet would note them. */
function chance(seed: number) {
  const next = seeded(seed)
  const normal = normalFrom(next)
  const rounded = (value: number, step: number) => Math.round(value / step) * step
  return {
    normal,
    between: (low: number, high: number) => low + (high - low) * next(),
    psiOf: ({ a, b, wanderLb }: TrueGroup, weightLb: number) =>
      rounded((weightLb - a - wanderLb) / b + levelingPsi * normal(), 0.1),
    ticketOf: (trueLb: number, gain: number) => rounded(gain * (trueLb + repeatabilityLb * normal()), 20),
  }
}

/** One truck with its truth and with what the fleet knows of it: five calibration weighings on one to three scales. */
function makeTruck(
  { normal, between, psiOf, ticketOf }: ReturnType<typeof chance>,
  steerScatterLb: number,
  index: number,
) {
  // Each truck meets its own three scales, so that the intervals are tried on many gains and not on three.
  const gains = scales.map(() => 1 + 0.002 * between(-1, 1))
  const share = between(0.05, 0.15)
  const steerEmptyLb = between(9500, 11_500)
  const groups: Record<'drive' | 'trailer', TrueGroup> = {
    drive: { emptyLb: between(8500, 11_000), a: between(-500, 2500), b: between(380, 560), wanderLb: 0 },
    trailer: { emptyLb: between(7500, 9500), a: between(-500, 2500), b: between(380, 560), wanderLb: 0 },
  }
  const load = (fraction: number) => ({
    drive: groups.drive.emptyLb + fraction * 26_000 * (1 - share),
    trailer: groups.trailer.emptyLb + fraction * 25_500,
    steer: steerEmptyLb + fraction * 26_000 * share + steerScatterLb * normal(),
  })
  const points: Record<'drive' | 'trailer', Observation[]> = { drive: [], trailer: [] }
  const tickets: SteerTicket[] = []
  const empty = load(0)
  for (const [i, loaded] of [empty, load(0.45), load(0.8), load(0.95), load(1)].entries()) {
    const scaleId = 1 + (i % (1 + (index % 3)))
    const gain = gains[scaleId - 1] as number
    for (const name of ['drive', 'trailer'] as const) {
      points[name].push(
        observation({
          readingId: i,
          ticketId: i,
          scaleId,
          lift: null,
          takenAt: spring,
          psi: [psiOf(groups[name], loaded[name])],
          weightLb: ticketOf(loaded[name], gain),
        }),
      )
    }
    tickets.push({
      weighedAt: spring,
      scaleId,
      lift: null,
      steerLb: ticketOf(loaded.steer, gain),
      driveLb: points.drive.at(-1)?.weightLb as number,
    })
  }
  const emptyLb = groups.drive.emptyLb + groups.trailer.emptyLb + steerEmptyLb
  const emptyTicketLb = ticketOf(empty.drive + empty.trailer + empty.steer, gains[0] as number)
  return { groups, load, points, emptyLb, emptyTicketLb, steer: { tickets, statics: null, driveLimitLb: 34_000 } }
}

function planOf({ points, steer }: ReturnType<typeof makeTruck>, rules: HouseRules) {
  const circuits = [{ circuitId: 1, name: 'main', airSprings: 8, springAreaIn2: null, mounts: [mount()] }]
  const prepare = (name: 'drive' | 'trailer', groupId: number) =>
    prepareGroup(
      driveGroup({ groupId, circuits, group: name, calibrations: [calibration(spring, points[name])] }),
      terms({ scaleOf, wanderOf: () => (_, days) => wanderLb2 * days }),
    )
  return planCombination({
    units,
    scaleOf,
    rules,
    steer: new Map([[1, steer]]),
    prepared: new Map([
      [2, prepare('drive', 2)],
      [3, prepare('trailer', 3)],
    ]),
  })
}

/**
 * Trucks with known true weights: scales with a gain error within their tolerance, rounded tickets that repeat within
 * 40 lb, valves that level within 0.4 psi, lines that wander, steer axles that scatter about the drive weight.
 */
function simulate(seed: number, steerScatterLb: number) {
  const dice = chance(seed)
  const hits = { drive: 0, trailer: 0, steer: 0, gross: 0, cargo: 0 }
  const verdicts = { decided: 0, wrong: 0 }
  const isWithin = (truth: number, { weightLb, uLb }: { weightLb: number; uLb: number }) =>
    Number(Math.abs(truth - weightLb) <= 1.959964 * uLb)
  const made = Array.from({ length: trucks }, (_, i) => makeTruck(dice, steerScatterLb, i))
  const rules = {
    ...defaultHouseRules,
    steerScatterLb: fleetSteerScatterLb(
      made.map(({ steer }) => steer),
      scaleOf,
      defaultHouseRules,
    ),
  }

  for (const truck of made) {
    const plan = planOf(truck, rules)
    const book = tareBook([
      { ticketId: 1, weighedAt: spring, scaleId: 1, unitIds: [1, 2], grossLb: truck.emptyTicketLb },
    ])
    const tare = tareOf(units, { book, scaleOf, rules, grossLimitLb: 80_000, until: spring })
    if (!tare.ok) throw new Error(tare.problem.message)
    let day = 0
    for (let i = 0; i < readingsEach; i += 1) {
      const step = 1 + Math.floor(dice.between(0, 10))
      day += step
      for (const group of Object.values(truck.groups)) group.wanderLb += Math.sqrt(wanderLb2 * step) * dice.normal()
      const truth = truck.load(dice.between(0, 1.05))
      const weighed = weighCombination(plan, {
        takenAt: spring + day * dayMs,
        elevationFt: 0,
        temperatureF: null,
        lift: null,
        ticket: null,
        pressures: new Map([
          [2, [dice.psiOf(truck.groups.drive, truth.drive)]],
          [3, [dice.psiOf(truck.groups.trailer, truth.trailer)]],
        ]),
      })
      for (const [index, what] of (['steer', 'drive', 'trailer'] as const).entries()) {
        const group = weighed[index]
        if (!group?.weighed) throw new Error(group?.reason)
        hits[what] += isWithin(truth[what], group)
        if (what === 'steer') continue
        const { verdict } = judgeWeight(group.weightLb, group.uLb, 34_000, 95)
        verdicts.decided += Number(verdict !== 'too close to call')
        verdicts.wrong += Number(
          (verdict === 'under' && truth[what] > 34_000) || (verdict === 'over' && truth[what] <= 34_000),
        )
      }
      const gross = grossOf(weighed)
      const cargo = cargoOf(weighed, tare.value.weight)
      if (!gross.complete || !cargo) throw new Error('gross is incomplete')
      const trueGrossLb = truth.drive + truth.trailer + truth.steer
      hits.gross += isWithin(trueGrossLb, gross)
      hits.cargo += isWithin(trueGrossLb - truck.emptyLb, cargo)
    }
  }
  const percentOf = (what: keyof typeof hits) => (100 * hits[what]) / (trucks * readingsEach)
  return {
    percentOf,
    scatterLb: rules.steerScatterLb,
    wrongPercent: (100 * verdicts.wrong) / verdicts.decided,
    decided: verdicts.decided,
  }
}

describe.each([0, 60, 150, 300])(
  'simulated trucks whose steer axle scatters by %i lb (400 trucks, 25 readings each, seeded)',
  (steerScatterLb) => {
    const outcome = simulate(20_260_301 + steerScatterLb, steerScatterLb)
    it.each(['drive', 'trailer', 'steer', 'gross', 'cargo'] as const)(
      'hold the true %s weight in 92 to 98.5 percent of the intervals',
      (what) => {
        expect(outcome.percentOf(what)).toBeGreaterThanOrEqual(92)
        expect(outcome.percentOf(what)).toBeLessThanOrEqual(98.5)
      },
    )

    it("find the fleet's steer scatter within 15 lb or 10 percent", () => {
      expect(Math.abs(outcome.scatterLb - steerScatterLb)).toBeLessThan(Math.max(15, 0.1 * steerScatterLb))
    })

    it('decide wrongly in under 5 percent of the decided verdicts', () => {
      expect(outcome.decided).toBeGreaterThan(10_000)
      expect(outcome.wrongPercent).toBeLessThan(5)
    })
  },
)
