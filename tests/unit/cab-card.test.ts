import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { cautions } from '#core/bench/steps.ts'
import { type CabCard, cabCardDefinition } from '#core/exchange/documents/cab-card.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import { cabGroups } from '#core/weight/cab-card.ts'
import { pressureReader, pressureTable, targetPressurePsi } from '#core/weight/target-pressure.ts'
import { judgeWeight } from '#core/weight/verdict.ts'
import type { UnitToWeigh } from '#core/weight/weigh-combination.ts'
import { prepareGroup, weighGroup } from '#core/weight/weigh.ts'
import { type WeighFacts, weigherOf } from '#core/weight/weigher.ts'
import { storedDay } from '#core/words/day.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import {
  calibration,
  dayMs,
  driveGroup,
  mount,
  estimates,
  observation,
  pointsAt,
  recordOf,
  spring,
  terms,
} from '#tests/unit/weight-fleet.ts'
import { sayIn, sayStored } from '#core/words/say.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'
import { measureSets } from '#core/words/measures.ts'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { some } from '#tests/some.ts'

const at = spring + 60 * dayMs

describe('a pressure table', () => {
  const group = prepareGroup(driveGroup(), terms({ wanderOf: () => (psi, days) => days * (10 + psi) }))
  const reader = pressureReader(group, at, null)
  if ('reason' in reader) throw new Error(reader.reason)

  it('says of each step what weighing a reading at that pressure says', () => {
    const table = pressureTable(reader, 34_000, 95, 36)
    expect(table?.stepPsi).toBe(2)
    for (const { psi, weightLb, uLb, verdict } of some(table?.steps ?? [])) {
      const weighing = weighGroup(group, observation({ takenAt: at, psi: [psi] }))
      if (!weighing.weighed) throw new Error(weighing.reason)
      expect(weightLb).toBeCloseTo(weighing.weightLb, 9)
      expect(uLb).toBeCloseTo(weighing.uLb, 9)
      expect(verdict).toBe(judgeWeight(weighing.weightLb, weighing.uLb, 34_000, 95).verdict)
    }
  })

  it('goes from the lightest load to a tenth past the limit in no more steps than asked for, the target among them', () => {
    fc.assert(
      fc.property(fc.integer({ min: 8000, max: 60_000 }), fc.integer({ min: 5, max: 60 }), (limitLb, mostSteps) => {
        const table = pressureTable(reader, limitLb, 95, mostSteps)
        if (!table) throw new Error('there is no table')
        const { steps, stepPsi } = table
        const targetPsi = targetPressurePsi(reader, limitLb, 95)
        expect(steps.length).toBeLessThanOrEqual(mostSteps)
        expect(
          steps.every(({ psi }, i) => psi % stepPsi === 0 && (i === 0 || psi - (steps[i - 1]?.psi ?? 0) === stepPsi)),
        ).toBe(true)
        expect(steps.at(-1)?.weightLb).toBeGreaterThan(1.11 * limitLb - 480 * stepPsi)
        for (const { psi, verdict } of steps)
          expect(verdict === 'under').toBe(targetPsi !== undefined && psi <= targetPsi)
      }),
    )
  })
})

const place = { limitLb: 34_000, axles: 2, axleSpacingFt: 4, measuredBy: 'circuit' as const }
const truck: UnitToWeigh = {
  unitId: 1,
  unit: 'K-1',
  kind: 'truck',
  grossLimitLb: 66_000,
  fifthWheelFt: null,
  groups: [
    {
      ...place,
      groupId: 1,
      group: 'steer',
      role: 'steer',
      axles: 1,
      firstAxleFt: 0,
      limitLb: 20_000,
      measuredBy: 'estimate',
    },
    { ...place, groupId: 2, group: 'drive', role: 'drive', firstAxleFt: 17 },
    {
      ...place,
      groupId: 5,
      group: 'pusher',
      role: 'lift',
      axles: 1,
      firstAxleFt: 12,
      limitLb: 13_200,
      measuredBy: 'ticket',
    },
  ],
}
const lifted = [
  calibration(spring, pointsAt(spring, { lift: 'raised' }), 1),
  calibration(spring + dayMs, pointsAt(spring + dayMs, { lift: 'lowered' }), 2),
]
const facts = (over: Partial<WeighFacts> = {}): WeighFacts => ({
  units: [truck],
  record: recordOf([driveGroup({ unit: 'K-1', unitKind: 'truck', calibrations: lifted })]),
  estimates,
  rules: defaultHouseRules,
  tickets: [],
  steer: [
    {
      unitId: 1,
      statics: null,
      driveLimitLb: 34_000,
      tickets: [8000, 20_000, 33_000].map((driveLb) => ({
        weighedAt: 0,
        scaleId: 1,
        lift: null,
        driveLb,
        steerLb: 9000 + 0.12 * driveLb,
      })),
    },
  ],
  ...over,
})

describe('the groups of a cab card', () => {
  it('have a table for each position of the lift axle, with the steer weight that goes with it, and say why others have none', () => {
    const [steer, drive, pusher] = cabGroups(weigherOf(facts()).ready([1]), at, 1)
    expect(drive?.tables.map(({ lift }) => lift)).toEqual(['raised', 'lowered'])
    expect(drive?.tables[0]?.steer?.weightsLb).toHaveLength(drive?.tables[0]?.steps.length ?? -1)
    const step = drive?.tables[0]?.steps[10]
    expect(drive?.tables[0]?.steer?.weightsLb[10]?.weightLb).toBeCloseTo(9000 + 0.12 * (step?.weightLb ?? 0), -1)
    expect([steer, pusher].map((group) => group?.why && sayUnweighed(group.why, sayStored('UTC')))).toEqual([
      'K-1 steer has no gauge: it is estimated from the drive group.',
      'K-1 pusher has no gauge: only a scale gives its weight.',
    ])
  })

  it('say that a line no longer holds', () => {
    const broken = driveGroup({
      unit: 'K-1',
      calibrations: lifted,
      events: [{ happenedAt: spring + 10 * dayMs, kind: 'valve replaced', circuitId: null, note: null }],
    })
    const [, drive] = cabGroups(weigherOf(facts({ record: recordOf([broken]) })).ready([1]), at, 1)
    expect([drive?.tables, drive?.why?.[0]]).toEqual([[], 'line ended'])
  })
})

const card = (over: Partial<CabCard> = {}): CabCard => ({
  unit: 'K-1',
  kind: 'truck',
  about: 'Talvane Mason 8 2022',
  yard: 'Cinder Gap',
  yardFt: 6210,
  yardAirPsi: 11.7,
  grossLimitLb: 66_000,
  groups: cabGroups(weigherOf(facts()).ready([1]), at, 1),
  standings: new Map([[2, { trust: 'due soon', dueOn: '2027-03-01' }]]),
  ...over,
})
const head = { asOf: storedDay('2026-05-01'), file: 'fleet.tareline', confidencePercent: 95, say: sayStored('UTC') }
const pagesOf = (pdf: Uint8Array): number =>
  Buffer.from(pdf)
    .toString('latin1')
    .match(/\/Type \/Page\b/g)?.length ?? 0

/** All text of a definition, in its order. */
function textOf(content: unknown): string {
  if (typeof content === 'string') return content
  if (Array.isArray(content)) return content.map(textOf).join('|')
  if (typeof content !== 'object' || content === null) return ''
  return Object.entries(content)
    .filter(([key]) => ['text', 'stack', 'columns', 'table', 'body', 'ul', 'content'].includes(key))
    .map(([, value]) => textOf(value))
    .join('|')
}

describe('a printed cab card', () => {
  it('holds target pressures, lift state, calibration and due date, uncertainty and every caution', () => {
    const text = textOf(cabCardDefinition([card()], head).content)
    for (const part of [
      'Unit K-1',
      'Talvane Mason 8 2022',
      'gross limit 66,000 lb',
      'Load to at most ',
      'Read with the lift axle raised, then lower it.',
      'Read with the lift axle lowered.',
      'Calibrated 2026-03-01 · due 2027-03-01 · due soon',
      'with 95 % confidence',
      'K-1 pusher has no gauge',
      ...cautions(),
    ])
      expect(text).toContain(part)
    expect(cautions().some((caution) => caution.includes('not legal-for-trade'))).toBe(true)
  })

  it.each([
    ['kg, kPa, m', 'kPa', 10],
    ['kg, bar, m', 'bar', 0.1],
  ] as const)(
    'says everything in the measures in use: %s, its tables in round steps of them',
    (system, symbol, step) => {
      const say = sayIn(measureSets[system], 'UTC')
      const absolute = driveGroup({
        unit: 'K-1',
        unitKind: 'truck',
        circuits: [
          {
            circuitId: 1,
            name: 'main',
            airSprings: 8,
            springAreaIn2: null,
            mounts: [mount({ reference: 'absolute' })],
          },
        ],
        calibrations: [
          calibration(
            spring,
            pointsAt(spring).map((point) => ({ ...point, psi: [(point.psi[0] ?? 0) + atmosphericPsi(600)] })),
          ),
        ],
      })
      for (const over of [
        {},
        { record: recordOf([absolute]) },
        { record: recordOf([driveGroup({ unit: 'K-1', calibrations: [] })]) },
      ]) {
        const groups = cabGroups(weigherOf(facts(over)).ready([1]), at, say.gaugeStepPsi)
        const text = textOf(cabCardDefinition([card({ groups })], { ...head, say }).content)
        expect(text).not.toMatch(/\b(lb|psi|ft)\b/)
        expect(text).toMatch(/\d kg\b/)
        for (const { steps, loadTo } of groups.flatMap(({ tables }) => tables)) {
          expect(steps.length).toBeGreaterThan(5)
          const shown = steps.map(({ psi }) => (psi * measureSets[system].pressure.factor) / step)
          for (const each of shown) expect(each).toBeCloseTo(Math.round(each), 6)
          const printed = Number(
            new RegExp(`Load to at most \\|([\\d.,]+) ${symbol}`).exec(text)?.[1]?.replace(',', ''),
          )
          expect(printed).toBeGreaterThan(0)
          expect(printed).toBeLessThanOrEqual(
            ('psi' in loadTo ? loadTo.psi : 0) * measureSets[system].pressure.factor + step,
          )
        }
      }
    },
  )

  it('rounds the target pressure down, never up', () => {
    const [, drive] = card().groups
    const loadTo = drive?.tables[0]?.loadTo
    const target = loadTo && 'psi' in loadTo ? loadTo.psi : 0
    const printed = Number(
      /Load to at most \|([\d.]+) psi/.exec(textOf(cabCardDefinition([card()], head).content))?.[1],
    )
    expect(printed).toBeLessThanOrEqual(target)
    expect(printed).toBeGreaterThan(target - 0.5)
  })

  it('takes one page for each unit, whether it has one table, three, or six', async () => {
    const circuits = [
      { circuitId: 1, name: 'left', airSprings: 2, springAreaIn2: null, mounts: [mount({ reference: 'absolute' })] },
      { circuitId: 2, name: 'right', airSprings: 2, springAreaIn2: null, mounts: [mount()] },
    ]
    const sided = (groupId: number) =>
      driveGroup({
        groupId,
        circuits,
        calibrations: [
          calibration(
            spring,
            pointsAt(spring).map((point) => ({ ...point, psi: [(point.psi[0] ?? 0) + 14, point.psi[0] ?? 0] })),
          ),
        ],
      })
    const many = (count: number): CabCard => {
      const groups = Array.from({ length: count }, (_, i) => ({
        ...place,
        groupId: 10 + i,
        group: `group ${i + 1}`,
        role: 'trailer' as const,
        firstAxleFt: 10 * i,
      }))
      const unit: UnitToWeigh = {
        unitId: 2,
        unit: 'V-1',
        kind: 'trailer',
        grossLimitLb: null,
        fifthWheelFt: null,
        groups,
      }
      return card({
        unit: `V-${count}`,
        groups: cabGroups(
          weigherOf(
            facts({ units: [unit], record: recordOf(groups.map(({ groupId }) => sided(groupId))), steer: [] }),
          ).ready([2]),
          at,
          1,
        ),
      })
    }
    const cards = [1, 2, 3, 4, 6].map(many)
    expect(cards.map(({ groups }) => groups.filter(({ tables }) => tables.length === 1).length)).toEqual([
      1, 2, 3, 4, 6,
    ])
    expect(pagesOf(await makePdf(cabCardDefinition(cards, head)))).toBe(5)
    expect(textOf(cabCardDefinition(cards, head).content)).toContain('mean of the left and right gauges')
    expect(textOf(cabCardDefinition(cards, head).content)).toContain('Its sensor shows absolute pressure')
    expect(pagesOf(await makePdf(cabCardDefinition([card(), card({ groups: [] })], head)))).toBe(2)
    expect(textOf(cabCardDefinition([card({ groups: [] })], head).content)).toContain(
      'No axle group of this unit has a line that holds today',
    )
  }, 60_000)
})
