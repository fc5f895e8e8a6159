import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Severity, findingCodes, severities, trustStates } from '#core/findings/finding.ts'
import { type Standing, trustBy, trustRank, standingRanks, worseFirst, worstTrust } from '#core/findings/trust.ts'

const judged = fc.record({ code: fc.constantFrom(...findingCodes), severity: fc.constantFrom<Severity>(...severities) })

describe('what is worst', () => {
  it('is the finding that makes the state: it stands before all others', () => {
    fc.assert(
      fc.property(fc.array(judged, { minLength: 1, maxLength: 12 }), (findings) => {
        const [first] = findings.toSorted(worseFirst)
        const trust = worstTrust(findings.map(trustBy))
        expect(first && (trustBy(first) ?? 'sound')).toBe(trust)
      }),
    )
  })

  it('puts what unsettles a line before what is graver and leaves it', () => {
    const aged = { code: 'age-near-limit', severity: 'note' } as const
    const swapped = { code: 'groups-swapped', severity: 'warn' } as const
    expect([swapped, aged].toSorted(worseFirst)).toEqual([aged, swapped])
  })

  it('orders units by state, then what makes it, then what is due longest, then what is least sure', () => {
    const unit = (more: Partial<Standing>): Standing => ({
      trust: 'overdue',
      worstFinding: 'age-over-limit',
      dueOn: '2026-10-01',
      uLimitLb: 100,
      ...more,
    })
    const worst = [
      unit({ trust: 'uncalibrated', worstFinding: 'no-calibration', dueOn: null, uLimitLb: null }),
      unit({ trust: 'doubtful', worstFinding: 'checks-drifting' }),
      unit({ trust: 'doubtful', worstFinding: 'sensor-silent', dueOn: '2026-01-01' }),
      unit({ dueOn: '2026-09-01' }),
      unit({ uLimitLb: 400 }),
      unit({}),
      unit({ trust: 'sound', worstFinding: null, dueOn: '2027-01-01' }),
      unit({ trust: null, worstFinding: null, dueOn: null, uLimitLb: null }),
    ]
    const ranks = (each: Standing) => Object.values(standingRanks(each))
    const standsBefore = (a: Standing, b: Standing) => {
      const [of, than] = [ranks(a), ranks(b)]
      const at = of.findIndex((rank, i) => rank !== than[i])
      return at < 0 ? 0 : (of[at] as number) < (than[at] as number) ? -1 : 1
    }
    expect(worst.toReversed().toSorted(standsBefore)).toEqual(worst)
  })

  it('knows a rank for every state, the worst lowest', () => {
    expect(trustStates.map(trustRank)).toEqual([0, 1, 2, 3, 4, 5])
    expect(worstTrust([])).toBe('sound')
  })
})
