import { describe, expect, it } from 'vitest'
import { assessFleet } from '#core/findings/assess-fleet.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import type { Observation } from '#core/evidence/history.ts'
import {
  calibration,
  check,
  circuit,
  daysOn,
  find,
  goodPoints,
  history,
  judge,
  mount,
} from '#tests/unit/group-history.ts'

/** Checks every other day from a day on. */
const everyOtherDay = (count: number, from = 2) => Array.from({ length: count }, (_, i) => check(from + 2 * i))

describe('sensor-silent', () => {
  const group = history({ observations: everyOtherDay(20) })

  it('is told once readings have stayed away for twice their usual gap and a week', () => {
    expect(find(group, 'sensor-silent', { asOf: daysOn(40 + 6.9) })).toBeUndefined()
    const silent = judge(group, { asOf: daysOn(40 + 8) })
    expect(silent.trust).toBe('doubtful')
    expect(silent.findings[0]).toMatchObject({
      code: 'sensor-silent',
      severity: 'warn',
      since: daysOn(40),
      numbers: { silent_days: 8, usual_days: 2 },
      message:
        'No reading of this group has come since 2025-04-10, 8 days ago; nearly all came within 2 days of the one before. Most likely a cell is dead.',
    })
  })

  it('allows for the use of the unit: where readings come monthly, a month is no silence', () => {
    const seldom = history({ observations: Array.from({ length: 14 }, (_, i) => check(20 + 30 * i)) })
    expect(find(seldom, 'sensor-silent', { asOf: daysOn(20 + 30 * 13 + 55) })).toBeUndefined()
    expect(find(seldom, 'sensor-silent', { asOf: daysOn(20 + 30 * 13 + 61) })).toBeDefined()
  })

  it('waits until ten gaps have shown how often readings come, and counts several looks of one visit as one', () => {
    const visit = Array.from({ length: 30 }, (_, i) => check(2 + i / 100))
    expect(find(history({ observations: visit }), 'sensor-silent', { asOf: daysOn(80) })).toBeUndefined()
  })

  it('is not said while the whole record ends with it: then nobody has brought that up to date', () => {
    const reaches = (days: number) =>
      assessFleet({ groups: [group], scales: new Map(), tickets: new Map() }, defaultHouseRules, daysOn(90), {
        heardUntil: daysOn(days),
      }).groups[0]?.findings.map(({ code }) => code)
    expect(reaches(46)).not.toContain('sensor-silent')
    expect(reaches(48)).toContain('sensor-silent')
  })

  it('is not said of a circuit without a sensor, and names the one of two that is silent', () => {
    const gone = [circuit({ mounts: [mount({ removedAt: daysOn(41) })] })]
    expect(find(history({ ...group, circuits: gone }), 'sensor-silent', { asOf: daysOn(90) })).toBeUndefined()
    const pair = [
      circuit({ name: 'left' }),
      circuit({ circuitId: 101, name: 'right', mounts: [mount({ serial: 'S-2' })] }),
    ]
    const both = (each: Observation, i = 0): Observation => ({
      ...each,
      psi: [each.psi[0] as number, i < 15 ? (each.psi[0] as number) : null],
    })
    const one = history({
      circuits: pair,
      calibrations: [calibration({ points: goodPoints().map((each) => both(each)) })],
      observations: everyOtherDay(25).map(both),
    })
    expect(find(one, 'sensor-silent', { asOf: daysOn(52) })).toMatchObject({ circuitId: 101, since: daysOn(30) })
  })
})

describe('one-circuit-read', () => {
  const circuits = [
    circuit({ name: 'left' }),
    circuit({ circuitId: 101, name: 'right', mounts: [mount({ serial: 'S-2' })] }),
  ]
  const onBoth = (each: Observation): Observation => ({ ...each, psi: [each.psi[0] as number, each.psi[0] as number] })
  const onLeft = (each: Observation): Observation => ({ ...each, psi: [each.psi[0] as number, null] })
  const calibrations = [calibration({ points: goodPoints().map(onBoth) })]

  it('counts the readings that lack a circuit of the line, a note once both are read again', () => {
    const observations = [onBoth(check(10)), onLeft(check(20)), onLeft(check(30))]
    const now = judge(history({ circuits, calibrations, observations }), { asOf: daysOn(31) })
    expect(now.trust).toBe('doubtful')
    expect(now.findings[0]).toMatchObject({
      code: 'one-circuit-read',
      severity: 'warn',
      circuitId: 101,
      since: daysOn(20),
      numbers: { readings: 2, circuits: 2 },
      message:
        '2 readings since 2025-03-21 lack circuit right, on which the line rests too: they cannot be weighed and test nothing.',
    })
    const again = judge(history({ circuits, calibrations, observations: [...observations, onBoth(check(40))] }), {
      asOf: daysOn(41),
    })
    expect([again.trust, again.findings[0]?.severity]).toEqual(['sound', 'note'])
  })

  it('tells a line that rests on one circuit of two that had sensors', () => {
    const alone = history({ circuits, calibrations: [calibration({ points: goodPoints().map(onLeft) })] })
    expect(find(alone, 'one-circuit-read')).toMatchObject({
      severity: 'note',
      message:
        'The line of 2025-03-01 rests on circuit left alone; right has a sensor too, and was not read at every point.',
    })
    const later = [circuits[0] as (typeof circuits)[number], circuit({ circuitId: 101, name: 'right', mounts: [] })]
    expect(
      find(
        history({ circuits: later, calibrations: [calibration({ points: goodPoints().map(onLeft) })] }),
        'one-circuit-read',
      ),
    ).toBeUndefined()
  })
})

describe('altitude-uncorrected where the yard stands in', () => {
  const absolute = [circuit({ mounts: [mount({ reference: 'absolute' })] })]
  const assumed = (each: Observation): Observation => ({ ...each, elevationAssumed: true })
  const raised = (each: Observation): Observation => ({ ...each, psi: [(each.psi[0] as number) + 14.3] })
  const calibrations = [calibration({ points: goodPoints().map(raised) })]

  it('is told of an absolute sensor, and takes trust away while its newest reading has no elevation', () => {
    const observations = [check(10), check(20)].map((each) => assumed(raised(each)))
    const judged = judge(history({ circuits: absolute, calibrations, observations }), { asOf: daysOn(21) })
    expect(judged.trust).toBe('doubtful')
    expect(judged.findings[0]).toMatchObject({
      code: 'altitude-uncorrected',
      severity: 'warn',
      numbers: { readings: 2 },
    })
    const noted = judge(
      history({ circuits: absolute, calibrations, observations: [...observations, raised(check(30))] }),
      {
        asOf: daysOn(31),
      },
    )
    expect([noted.trust, noted.findings[0]?.severity]).toEqual(['sound', 'note'])
  })

  it('is no matter of a gauge sensor', () => {
    expect(find(history({ observations: [check(10)].map(assumed) }), 'altitude-uncorrected')).toBeUndefined()
  })
})

describe('follows-weather', () => {
  const weathered = (psiPerDegree: number) =>
    history({
      observations: Array.from({ length: 40 }, (_, i) => {
        const temperatureF = Math.round(60 - 35 * Math.cos((2 * Math.PI * i) / 22))
        const psi = 30 + (i % 4) * 9
        return { ...check(4 + 16 * i, 0, { psi }), psi: [psi + psiPerDegree * (temperatureF - 60)], temperatureF }
      }),
    })

  it('is a note with the psi a degree, and no alarm for what the weather does', () => {
    const judged = judge(weathered(0.08), { asOf: daysOn(640), rules: { maximumAgeDays: 3650 } })
    const found = judged.findings.find(({ code }) => code === 'follows-weather')
    expect(found?.severity).toBe('note')
    expect(Math.abs((found?.numbers['psi_per_degree_f'] as number) - 0.08)).toBeLessThan(0.015)
    expect(found?.message).toMatch(
      /^Its pressure follows the weather: 0\.0[78]\d? psi for each °F more the warmer it is\.$/,
    )
    expect(judged.findings.map(({ code }) => code)).not.toContain('checks-drifting')
  })

  it('lets points agree that were read in different weather, where that is noted', () => {
    const following = weathered(0.08)
    const degrees = [28, 92, 40, 75]
    const points = goodPoints().map((point, i): Observation => {
      const temperatureF = degrees[i % degrees.length] as number
      return { ...point, psi: point.psi.map((psi) => psi && psi + 0.08 * (temperatureF - 60)), temperatureF }
    })
    const inNotes = { ...following, calibrations: [calibration({ points })] }
    const untold = points.map((point) => ({ ...point, temperatureF: null }))
    const unnoted = { ...following, calibrations: [calibration({ points: untold })] }
    const at = { asOf: daysOn(640), rules: { maximumAgeDays: 3650 } }
    expect(find(inNotes, 'points-disagree', at)).toBeUndefined()
    expect(find(unnoted, 'points-disagree', at)).toBeDefined()
  })

  it('is not said of a sensor that does not', () => {
    expect(find(weathered(0), 'follows-weather', { asOf: daysOn(640) })).toBeUndefined()
  })
})
