import { expect, test } from '@playwright/test'
import type { RuleRow } from '#core/contracts/scales.ts'
import { localTimeOf } from '#core/words/day.ts'
import { houseRuleDefinitions, houseRuleNames } from '#core/words/house-rules.ts'
import { measuresFor } from '#renderer/parts/format.ts'
import { toleranceVerdict } from '#core/words/coverage.ts'
import { ruleWriter } from '#renderer/screens/house-rules/rule-field.tsx'
import { rulesBySection } from '#renderer/screens/house-rules/rule-sections.ts'
import { multiples, niceStep, roundTicks } from '#renderer/parts/round-steps.ts'
import { timeTicks } from '#renderer/screens/unit/chart/axis.ts'
import { checkSeries } from '#renderer/screens/unit/checks/check-series.ts'
import { type Track, trackSeries } from '#renderer/screens/unit/track/track-series.ts'

const day = (date: string) => `${date}T12:00:00.000Z`
const check = (date: string, missLb: number, rest: Partial<Track['lives'][number]['checks'][number]> = {}) => ({
  at: day(date),
  ticket: '1',
  ticketId: 1,
  scale: 'Yard',
  psi: 50,
  weightLb: 26_000,
  missLb,
  uMissLb: 150,
  z: missLb / 150,
  offLineLb: missLb,
  missed: false,
  slip: null,
  atFixedLb: 34_000 + missLb,
  cusumHigh: 0,
  cusumLow: 0,
  ...rest,
})
const state = (date: string, weightLb = 34_000, u = 150) => ({ at: day(date), weightLb, u })

/** A line of 1 January, checked twice, as seen on 1 March; its uncertainty reaches the tolerance in the summer. */
const track: Track = {
  fixedPsi: 66,
  toleranceLb: 1000,
  cusumLimit: 8,
  checksToFalseAlarm: 9556,
  allowedULb: 510,
  lives: [
    {
      calibrationId: 1,
      startedAt: day('2026-01-01'),
      endedAt: null,
      brokenAt: null,
      lineLb: 34_000,
      alarmFrom: null,
      change: null,
      states: [state('2026-01-01'), state('2026-01-20'), state('2026-02-10'), state('2026-03-01')],
      checks: [check('2026-01-20', 100), check('2026-02-10', -18_000, { slip: 'digits-transposed', missed: true })],
    },
  ],
  forecast: [
    { at: day('2026-03-01'), u: 300 },
    { at: day('2026-07-01'), u: 500 },
    { at: day('2026-11-01'), u: 640 },
  ],
}
const group = { name: 'drive', trust: 'sound' as const, dueOn: '2026-08-01', circuits: [] }
const event = (date: string, over: object = {}) => ({
  group: 'drive',
  circuit: null,
  happenedAt: day(date),
  kind: 'body work' as const,
  note: null,
  ...over,
})

test('a line in doubt is to be seen to now: its chart names no later day', () => {
  const doubtful = { ...group, trust: 'doubtful' as const }
  const { instants, due } = trackSeries(track, doubtful, [], day('2026-03-01'), 'UTC')
  expect(due).toBeNull()
  expect(instants.at(-1)?.happenings[0]?.what).toBe('forecast')
})

test('the forecast ends on the due date, its variance growing in a straight line', () => {
  const { instants, due } = trackSeries(track, group, [], day('2026-03-01'), 'UTC')
  const last = instants.at(-1)
  expect(last?.at).toBe(due?.at)
  const share =
    (Date.parse(day('2026-08-01')) - Date.parse(day('2026-07-01'))) /
    (Date.parse(day('2026-11-01')) - Date.parse(day('2026-07-01')))
  expect(last?.happenings).toEqual([
    { what: 'forecast', lineLb: 34_000, u: Math.sqrt(500 ** 2 + share * (640 ** 2 - 500 ** 2)) },
  ])
})

test('a slip neither counts as missed nor stretches the chart', () => {
  const { instants, lowLb, highLb } = trackSeries(track, group, [], day('2026-03-01'), 'UTC')
  const kinds = instants.flatMap(({ happenings }) =>
    happenings.flatMap((happening) => (happening.what === 'check' ? [happening.kind] : [])),
  )
  expect(kinds).toEqual(['check', 'slip'])
  expect(lowLb).toBeGreaterThan(32_000)
  expect(highLb).toBeLessThan(36_000)
  expect(checkSeries(track, day('2026-03-01'))?.reachLb).toBeLessThan(1000)
})

test('only the group’s own events and the whole unit’s are shown, since the first line', () => {
  const events = [
    event('2025-12-01'),
    event('2026-02-01'),
    event('2026-02-02', { group: null }),
    event('2026-02-03', { group: 'steer' }),
  ]
  const shown = trackSeries(track, group, events, day('2026-03-01'), 'UTC').instants.flatMap(({ happenings }) =>
    happenings.flatMap((happening) => (happening.what === 'event' ? [happening.event.happenedAt] : [])),
  )
  expect(shown).toEqual([day('2026-02-01'), day('2026-02-02')])
})

test('a broken line has no forecast, and a sensor that came without an event is named', () => {
  const [life] = track.lives
  if (!life) throw new Error('the track has no life')
  const brokenAt = day('2026-02-20')
  const broken = { ...track, lives: [{ ...life, brokenAt, states: [...life.states.slice(0, 3), state('2026-02-20')] }] }
  const sensor = {
    serial: 'S-2',
    reference: 'gauge' as const,
    mountedAt: brokenAt,
    removedAt: null,
    cell: null,
    cellSince: null,
    reportEveryS: null,
    rangePsi: null,
    resolutionPsi: null,
    accuracyPsi: null,
  }
  const circuits = [{ name: 'main', airSprings: null, springAreaIn2: null, rideHeightIn: null, sensors: [sensor] }]
  const { instants } = trackSeries(broken, { ...group, circuits }, [], day('2026-03-01'), 'UTC')
  expect(instants.at(-1)?.happenings).toEqual([
    expect.objectContaining({ what: 'end', why: 'broken' }),
    expect.objectContaining({
      what: 'event',
      breaks: true,
      event: expect.objectContaining({ kind: 'sensor swapped', note: 'sensor S-2 mounted' }),
    }),
  ])
})

test('an alarm names its first check and its side', () => {
  const [life] = track.lives
  if (!life) throw new Error('the track has no life')
  const checks = [
    check('2026-01-20', 100),
    check('2026-02-01', -600, { cusumLow: 4 }),
    check('2026-02-15', -700, { cusumLow: 9, missed: true }),
  ]
  const series = checkSeries({ ...track, lives: [{ ...life, checks, alarmFrom: 1 }] }, day('2026-03-01'))
  expect(series?.points.map(({ kind }) => kind)).toEqual(['check', 'alarm', 'missed'])
  expect(series?.alarm?.from.check.at).toBe(day('2026-02-01'))
  expect(series?.alarm?.side).toBe('less')
  expect(Math.max(series?.cusumReach.more ?? 0, series?.cusumReach.less ?? 0)).toBeGreaterThan(9)
})

test('axes are divided into round steps', () => {
  expect([1, 9, 470, 2100, 60_000].map((span) => niceStep(span, 6))).toEqual([0.2, 2, 100, 500, 10_000])
  expect(multiples(-750, 750, 500)).toEqual([-500, 0, 500])
  expect(multiples(33_000, 35_000, 1000)).toEqual([33_000, 34_000, 35_000])
  // Round in what is shown, whatever is stored.
  expect(roundTicks(0, 40_000, measuresFor(0, 'UTC').weight, 6)).toEqual([0, 10_000, 20_000, 30_000, 40_000])
  expect(roundTicks(0, 40_000, measuresFor(2, 'UTC').weight, 6)).toEqual([0, 5000, 10_000, 15_000])
  expect(roundTicks(-1200, 1200, measuresFor(1, 'UTC').weight, 6)).toEqual([-400, -200, 0, 200, 400])
  expect(roundTicks(0, 90, measuresFor(2, 'UTC').pressure, 12)).toEqual([0, 1, 2, 3, 4, 5, 6])
  const ticks = timeTicks(Date.parse(day('2025-01-15')), Date.parse(day('2027-01-15')), 'America/Denver')
  expect(ticks.length).toBeGreaterThan(4)
  expect(ticks.length).toBeLessThanOrEqual(10)
  for (const tick of ticks) expect(localTimeOf(tick, 'America/Denver')).toMatch(/-01T00:00$/)
  expect(timeTicks(Date.parse(day('2026-01-01')), Date.parse(day('2026-01-06')), 'America/Denver')).toHaveLength(5)
})

test('a figure is within its tolerance or beyond it only when its whole interval is', () => {
  expect(toleranceVerdict(-300, 200, 1000)).toBe('within tolerance')
  expect(toleranceVerdict(-1500, 200, 1000)).toBe('beyond tolerance')
  expect(toleranceVerdict(900, 200, 1000)).toBe('too close to call')
})

const rules = houseRuleNames.map(
  (name): RuleRow => ({
    choices: null,
    shownOnly: false,
    ...houseRuleDefinitions[name],
    source: '',
    name,
    value: houseRuleDefinitions[name].default,
  }),
)

test('every rule stands under one heading', () => {
  const placed = rulesBySection(rules).flatMap((section) => section.rules.map(({ name }) => name))
  expect([...placed].sort()).toEqual([...houseRuleNames].sort())
})

test('every default reads back as it is written, in its own measures', () => {
  for (const rule of rules) {
    const { read, write } = ruleWriter(rule, measuresFor(0, 'UTC'))
    expect(read(write(rule.default))).toEqual({ ok: true, value: rule.default })
  }
})

test('a rule in lb or psi is written and read in the measures in use', () => {
  const tandem = rules.find(({ name }) => name === 'tandemLimitLb') as RuleRow
  const { unit, write, read, accepted } = ruleWriter(tandem, measuresFor(1, 'UTC'))
  expect([unit, write(34_000), accepted]).toEqual(['kg', '15,422', '453.6 to 90,718\u00a0kg'])
  const typed = read('15,400')
  expect(typed.ok && [Math.round(typed.value), write(typed.value)]).toEqual([33_951, '15,400'])
  expect(read('95000')).toEqual({
    ok: false,
    message: '95,000\u00a0kg is out of range; 453.6 to 90,718\u00a0kg is accepted.',
  })
  const wander = ruleWriter(rules.find(({ name }) => name === 'wanderPsi') as RuleRow, measuresFor(2, 'UTC'))
  expect([wander.unit, wander.write(0.06)]).toEqual(['bar per root month', '0.004137'])
})

test('a value is read as in all forms, and nothing else is guessed', () => {
  const [rule] = rules
  if (!rule) throw new Error('there is no rule')
  const { read } = ruleWriter({ ...rule, choices: null, unit: '', min: -10, max: 100_000 }, measuresFor(0, 'UTC'))
  expect(read(' 34,000 ')).toEqual({ ok: true, value: 34_000 })
  expect(read('-.5')).toEqual({ ok: true, value: -0.5 })
  expect(read('3,4')).toEqual({ ok: true, value: 3.4 })
  for (const typed of ['1e3', '0x10', '-', '.', 'NaN', '12 lb']) expect(read(typed).ok, typed).toBe(false)
})
