import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { Observation } from '#core/evidence/history.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { assessFleet } from '#core/findings/assess-fleet.ts'
import { type Finding, findingCodes } from '#core/findings/finding.ts'
import { readRecord } from '#core/store/histories.ts'
import { readAsOf } from '#core/words/day.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { everyFault, simulateFleet } from '#tests/bed/simulate-fleet.ts'
import {
  calibration,
  check,
  checks,
  circuit,
  daysOn,
  event,
  goodPoints,
  history,
  judge,
  judgeFleet,
  mount,
  point,
} from '#tests/unit/group-history.ts'
import { sayStored } from '#core/words/say.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'
import { some } from '#tests/some.ts'
import { openNewStore } from '#tests/store/temporary-store.ts'

const bothSides = (each: Observation): Observation => ({ ...each, psi: [each.psi[0] as number, each.psi[0] as number] })

/** Checks of two years whose sensor shows 0.08 psi more for each °F. */
const followingWeather = (): Observation[] =>
  Array.from({ length: 40 }, (_, i) => {
    const temperatureF = Math.round(60 - 35 * Math.cos((2 * Math.PI * i) / 22))
    const psi = 30 + (i % 4) * 9
    return { ...check(4 + 16 * i, 0, { psi }), psi: [psi + 0.08 * (temperatureF - 60)], temperatureF }
  })

/** Findings of small histories by hand, for the codes that no simulated fleet brings. */
function byHand(): Finding[] {
  const lifted = goodPoints().map((each) => ({ ...each, lift: 'raised' as const }))
  const lowered = [check(20), check(40)].map((each) => ({ ...each, lift: 'lowered' as const }))
  const bent = [point(14, 11_060), point(38, 24_500), point(60, 34_040)]
  const moved = goodPoints().map((each) => ({ ...each, weightLb: (each.weightLb as number) + 1500 }))
  const absolute = [circuit({ mounts: [mount({ reference: 'absolute' })] })]
  const family = Array.from({ length: 9 }, (_, i) => history({ groupId: 100 + i }))
  return [
    history({ calibrations: [] }),
    history({ calibrations: [calibration({ points: [point(30, 19_000), point(30, 19_100)] })] }),
    history({ calibrations: [calibration({ points: lifted })], observations: lowered }),
    history({ calibrations: [calibration({ points: [...lifted, ...lowered] })] }),
    history({ calibrations: [calibration({ points: bent })] }),
    history({
      calibrations: [calibration({ points: [point(30, 19_000), point(36, 22_000)] })],
      events: [event('height set', daysOn(3))],
    }),
    history({
      calibrations: [calibration(), calibration({ calibrationId: 501, calibratedAt: daysOn(60), points: moved })],
    }),
    history({
      circuits: absolute,
      calibrations: [calibration({ points: goodPoints().map((each) => ({ ...each, elevationFt: null })) })],
    }),
    history({ circuits: [circuit({ springAreaIn2: 10 })], observations: checks([0, 0, 2500, 0, 0]) }),
    history({ observations: checks([0, 0, 900]) }),
    history({ observations: [...checks([0, 0]), { ...check(48), weightLb: 30_300 }, check(64)] }),
    history({ observations: checks([0, 0, -1100, -1100, -1100]) }),
    history({ observations: checks([0, 0, 3100]) }),
    history({ observations: Array.from({ length: 15 }, (_, i) => check(2 * i)) }),
    history({
      circuits: [
        circuit({ name: 'left' }),
        circuit({ circuitId: 101, name: 'right', mounts: [mount({ serial: 'S-2' })] }),
      ],
      calibrations: [calibration({ points: goodPoints().map(bothSides) })],
      observations: checks([0, 0]).map((each) => ({ ...each, psi: [58, null] })),
    }),
    history({ observations: followingWeather() }),
  ]
    .flatMap((group) => [daysOn(90), daysOn(345), daysOn(500)].flatMap((asOf) => judge(group, { asOf }).findings))
    .concat(
      judgeFleet([
        ...family,
        history({ calibrations: [calibration({ points: [14, 38, 60].map((psi) => point(psi, 4000 + 590 * psi)) })] }),
      ]).groups.flatMap(({ findings }) => findings),
    )
}

const home = mkdtempSync(join(tmpdir(), 'tareline-words-'))
let all: Finding[] = []

beforeAll(async () => {
  const truth = simulateFleet({
    folder: join(home, 'fleet'),
    seed: 'words',
    units: 60,
    months: 20,
    faults: everyFault(2),
    readingsPerDay: 0.02,
  })
  const store = await openNewStore(join(home, 'fleet.tareline'))
  store.raw.pragma('synchronous = OFF')
  const { outcome } = await importFolder(store, join(home, 'fleet'))
  if (outcome === 'refused') throw new Error('the simulated fleet was refused')
  const record = readRecord(store, { untilMs: readAsOf(truth.lastDay, 'UTC') as number })
  await store.close()
  const judged = (day: string) => assessFleet(record, defaultHouseRules, readAsOf(day, 'UTC') as number)
  const fleets = [judged(truth.lastDay)]
  all = [
    ...fleets.flatMap(({ groups, others }) => [...groups.flatMap(({ findings }) => findings), ...others]),
    ...byHand(),
  ]
})

afterAll(() => rmSync(home, { recursive: true, force: true }))

/** Each finding as one text for a person, with its code in front for the message of a failing test. */
const texts = () =>
  all.map((finding) => {
    const { message, nextStep } = sayFinding(finding, sayStored('UTC'))
    return { code: finding.code, message, nextStep, both: `${message} ${nextStep}` }
  })

describe('the words of findings', () => {
  it('were read for every code of lines, checks, tickets and scales', () => {
    const others = new Set(['battery-due', 'battery-overdue'])
    expect(findingCodes.filter((code) => !others.has(code) && !all.some((finding) => finding.code === code))).toEqual(
      [],
    )
    expect(all.length).toBeGreaterThan(80)
  })

  it('are those of a shop, not of a statistician or a programmer', () => {
    const jargon =
      /innovation|sigma|σ|kalman|\bz\b|z-?score|residual|covariance|cusum|chi-?squared?|χ|variance|deviation|standard|likelihood|outlier|median|\bmean of \d+\b|significan|confidence|null|undefined|NaN|Infinity|\[object|\bwe\b|\bour\b/i
    for (const { code, both } of texts())
      expect({ code, both, jargon: jargon.exec(both)?.[0] }).toEqual({ code, both, jargon: undefined })
  })

  it('make whole sentences, short enough to be read at a glance', () => {
    for (const { code, message, nextStep } of texts()) {
      expect(message, code).toMatch(/^[A-Z0-9][^\n]*\.$/)
      expect(nextStep, code).toMatch(/^[A-Z][^\n]*\.$/)
      expect(message + nextStep, code).not.toMatch(/ {2}|\.\.| ,| \./)
      expect(message.length, message).toBeLessThan(240)
      expect(nextStep.length, nextStep).toBeLessThan(160)
    }
  })

  it('say what to do next: the next step begins with something to do', () => {
    const todo = /^(Weigh|Plan|Calibrate|Look|Ask|Compare|Check|Read|Enter|Next time weigh)\b/
    for (const { code, nextStep } of texts()) expect(nextStep, code).toMatch(todo)
  })

  it('give every figure its unit, and never minus zero', () => {
    const units =
      /^ (lb|psi|%|ft|days?|points?|readings?|checks?|groups?|weighings?|times|kPa|bar|more since|of them)\b|^ %/
    for (const { code, message } of texts()) {
      const plain = message
        .replace(/\d{4}-\d{2}-\d{2}/g, 'DAY')
        .replace(/[Tt]icket \S+/g, 'ticket')
        .replace(/sensor \S+/g, 'sensor')
        .replace(/needs two or more points; \d+ given/, '')
        .replace(/\(pressure\) \d+/, '')
      for (const match of plain.matchAll(/-?\d[\d,.]*\d|-?\d/g)) {
        expect({
          code,
          message,
          figure: match[0],
          after: units.test(plain.slice(match.index + match[0].length)),
        }).toEqual({ code, message, figure: match[0], after: true })
      }
      expect(message).not.toMatch(/(^|[^\d.])-0(\.0+)? /)
    }
  })

  it('name the day of what they speak of, or how many of what', () => {
    const others = texts().filter(({ code }) => code !== 'no-calibration' && code !== 'short-span')
    for (const { code, message } of some(others)) expect(message, code).toMatch(/\d/)
  })

  it('go with numbers whose names end in a unit, or count, or have none', () => {
    const unitless = new Set([
      'calibrations',
      'points',
      'events',
      'event',
      'readings',
      'checks',
      'weighings',
      'weights',
      'groups',
      'dof',
      'unit',
      'calibrated_with',
      'read_with',
      'calibrated_on',
      'before_on',
      'days_left',
      'z',
      'slope_z',
      'intercept_z',
      'cusum',
      'cusum_side',
      'kind',
      'probability',
      'since_likely',
      'since_from',
      'since_until',
      'circuits_read',
      'circuits',
      'chi2',
      'chi2_limit',
      'chi2_95',
      'widened_by',
      'ratio',
      'low',
      'high',
      'family_lines',
      'u',
    ])
    for (const { code, numbers } of all) {
      expect(Object.keys(numbers).length, code).toBeGreaterThan(0)
      for (const [name, value] of Object.entries(numbers)) {
        expect(
          unitless.has(name) || /(^|_)(lb|psi|percent|days|lb_per_psi|lb_per_month|psi_per_degree_f)$/.test(name),
          `${code}: ${name}`,
        ).toBe(true)
        expect(typeof value === 'string' || Number.isFinite(value), `${code}: ${name}`).toBe(true)
      }
    }
  })

  it('date the trouble from the past', () => {
    const dated = all.flatMap(({ code, since }) => (since === null ? [] : [{ code, since }]))
    for (const { code, since } of some(dated))
      expect(since, code).toBeLessThanOrEqual(Date.parse('2027-01-01T00:00:00Z'))
  })
})
