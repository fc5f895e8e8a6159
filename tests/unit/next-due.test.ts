import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { trustStates } from '#core/findings/finding.ts'
import { nextDue } from '#core/findings/next-due.ts'
import { measureSystems, measuresOfRule, toShown } from '#core/words/measures.ts'
import { sayIn } from '#core/words/say.ts'
import { provisionalOf } from '#core/words/sentences/two-weights.ts'
import { checkSeries } from '#renderer/screens/unit/checks/check-series.ts'
import type { Track } from '#renderer/screens/unit/track/track-series.ts'

describe('when a group must be seen to', () => {
  it('is now where its line cannot be trusted, else the day on which it runs out, wherever it is said', () => {
    expect(trustStates.map((trust) => nextDue(trust, '2026-09-30'))).toEqual([
      'now',
      'now',
      'now',
      '2026-09-30',
      '2026-09-30',
      '2026-09-30',
    ])
    expect(nextDue('sound', null)).toBeNull()
  })
})

describe('a pressure to load to', () => {
  it('is said in half steps of a gauge, never above what was worked out', () => {
    expect(sayIn(measuresOfRule(0), 'UTC').loadTo(72.64)).toBe('72.5 psi')
    fc.assert(
      fc.property(fc.nat(measureSystems.length - 1), fc.double({ min: 0, max: 200, noNaN: true }), (system, psi) => {
        const set = measuresOfRule(system)
        const shown = Number.parseFloat(sayIn(set, 'UTC').loadTo(psi))
        expect(shown).toBeLessThanOrEqual(toShown(psi, set.pressure) + 1e-9)
      }),
    )
  })
})

describe('what makes a weight provisional', () => {
  it('is said of the group itself, of the one that a steer axle is estimated from, or of one in the sum', () => {
    expect(provisionalOf('group', 'drive')).toContain('since the work on it')
    expect(provisionalOf('group', 'steer')).toContain('as the drive group that it is estimated from')
    for (const sum of ['gross', 'bridge'] as const) {
      expect(provisionalOf(sum, null)).toContain('a group in it')
      expect(provisionalOf(sum, null)).not.toContain('the work on it')
    }
  })
})

describe('the check chart of a line that has moved', () => {
  it('tells the same since as the track: when the line most likely changed', () => {
    const check = {
      ticketId: 1,
      ticket: 'T',
      scale: 'Pit',
      psi: 60,
      weightLb: 35_000,
      missLb: 1500,
      uMissLb: 300,
      z: 5,
      missed: false,
      slip: null,
      offLineLb: 1500,
      atFixedLb: 35_000,
      cusumHigh: 5,
      cusumLow: 0,
    }
    const change = { kind: 'offset', probability: 0.99, at: '2026-05-03T00:00:00.000Z' } as const
    const track: Track = {
      fixedPsi: 60,
      toleranceLb: 1020,
      cusumLimit: 5,
      checksToFalseAlarm: 400,
      lives: [
        {
          calibrationId: 1,
          startedAt: '2026-01-01T00:00:00.000Z',
          endedAt: null,
          brokenAt: null,
          lineLb: 33_500,
          states: [],
          checks: [
            { ...check, at: '2026-06-01T00:00:00.000Z' },
            { ...check, at: '2026-07-01T00:00:00.000Z' },
          ],
          alarmFrom: 0,
          change: { ...change, from: '2026-04-01T00:00:00.000Z', until: '2026-06-01T00:00:00.000Z' },
        },
      ],
      forecast: [],
      allowedULb: 510,
    }
    expect(checkSeries(track, '2026-08-01T00:00:00.000Z')?.alarm).toMatchObject({ side: 'more', since: change.at })
  })
})
