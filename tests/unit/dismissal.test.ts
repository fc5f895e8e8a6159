import { describe, expect, it } from 'vitest'
import type { GroupHistory } from '#core/evidence/history.ts'
import type { Finding } from '#core/findings/finding.ts'
import { dismissalMark, findingKey, notDismissed } from '#core/findings/set-aside.ts'
import {
  calibration,
  check,
  checks,
  circuit,
  daysOn,
  event,
  history,
  judge,
  judgeTicket,
  point,
  ticket,
} from '#tests/unit/group-history.ts'

const markOf = (finding: Finding) => dismissalMark(findingKey(finding), finding.evidence)
const shifted = checks([0, 40, -40, 0, 1000, 1000, 1000])
const doubtful = history({ observations: shifted })
const asOf = daysOn(16 * 7 + 1)
const codes = (findings: readonly Finding[]) => findings.map(({ code }) => code)

/** Judges a group with every finding of a code set aside that it has on its present evidence. */
function setAside(group: GroupHistory, code: Finding['code'], given: { asOf: number; rules?: object } = { asOf }) {
  const dismissed = new Set(
    judge(group, given)
      .findings.filter((finding) => finding.code === code)
      .map(markOf),
  )
  if (dismissed.size === 0) throw new Error(`${code} is not there to be set aside`)
  return dismissed
}

describe('a finding set aside', () => {
  it('is out of the findings, still told as set aside, and gives the line back what trust it has without it', () => {
    expect(judge(doubtful, { asOf })).toMatchObject({ trust: 'doubtful', aside: [] })
    const judged = judge(doubtful, { asOf, dismissed: setAside(doubtful, 'checks-drifting') })
    // That its weights at the limit are off by more than the tolerance stays true, whatever is thought of the cause.
    expect(judged.trust).toBe('overdue')
    expect(codes(judged.findings)).toEqual(['uncertainty-over-tolerance'])
    expect(codes(judged.aside)).toEqual(['checks-drifting'])
  })

  it('stays away on the days after, while nothing new is known', () => {
    const dismissed = setAside(doubtful, 'checks-drifting')
    expect(judge(doubtful, { asOf: asOf + 30 * 86_400_000, dismissed }).trust).toBe('overdue')
  })

  it.each<[string, Partial<GroupHistory>]>([
    ['weighing', { observations: [...shifted, check(16 * 8, 1000)] }],
    ['piece of work', { events: [event('other', daysOn(16 * 7))] }],
  ])('comes back with a new %s', (_, change) => {
    const dismissed = setAside(doubtful, 'checks-drifting')
    const judged = judge({ ...doubtful, ...change }, { asOf: daysOn(16 * 8 + 1), dismissed })
    expect(codes(judged.findings)).toContain('checks-drifting')
    expect(judged.trust).toBe('doubtful')
  })

  it('does not come back with a calibration of before, which has no part in it', () => {
    const earlier = calibration({
      calibrationId: 501,
      calibratedAt: daysOn(-100),
      points: [point(14, 11_000, { takenAt: daysOn(-100) }), point(60, 34_000, { takenAt: daysOn(-100) })],
    })
    const judged = judge(
      { ...doubtful, calibrations: [earlier, calibration()] },
      { asOf, dismissed: setAside(doubtful, 'checks-drifting') },
    )
    expect(codes(judged.findings)).not.toContain('checks-drifting')
  })

  it('does not come back with a reading that had no ticket', () => {
    const reading = point(58, null, { takenAt: daysOn(16 * 7), ticketId: null, scaleId: null })
    const judged = judge(
      { ...doubtful, observations: [...shifted, reading] },
      { asOf, dismissed: setAside(doubtful, 'checks-drifting') },
    )
    expect(codes(judged.findings)).not.toContain('checks-drifting')
  })

  it('takes nothing else with it', () => {
    const broken = history({ observations: shifted, circuits: [circuit({ springAreaIn2: 20 })] })
    const dismissed = setAside(broken, 'checks-drifting')
    const judged = judge(broken, { asOf, dismissed })
    expect(codes(judged.findings)).toEqual(['slope-implausible', 'uncertainty-over-tolerance'])
    expect(judged.trust).toBe('doubtful')
    expect(judge({ ...doubtful, groupId: 11 }, { asOf, dismissed }).trust).toBe('doubtful')
  })

  it('comes back when it grows worse, though nothing new was weighed', () => {
    const rules = { wanderPsi: 0.3, maximumAgeDays: 3650 }
    const group = history()
    const days = Array.from({ length: 1000 }, (_, i) => i)
    const code = 'uncertainty-over-tolerance'
    const firstDay = (severity: string) =>
      days.find((day) =>
        judge(group, { asOf: daysOn(day), rules }).findings.some(
          (finding) => finding.code === code && finding.severity === severity,
        ),
      ) as number
    const [announced, passed] = [firstDay('note'), firstDay('warn')]
    const dismissed = setAside(group, code, { asOf: daysOn(announced), rules })
    expect(judge(group, { asOf: daysOn(announced + 1), rules, dismissed })).toMatchObject({
      trust: 'sound',
      findings: [],
    })
    const judged = judge(group, { asOf: daysOn(passed), rules, dismissed })
    expect(judged.findings).toMatchObject([{ code, severity: 'warn' }])
    expect(judged.trust).toBe('overdue')
  })

  it('never is one of severity stop: work is needed, not an opinion', () => {
    const upset = history({ events: [event('height set', daysOn(20))] })
    const uncalibrated = history({ calibrations: [] })
    for (const [group, code, trust] of [
      [upset, 'event-since-calibration', 'upset'],
      [uncalibrated, 'no-calibration', 'uncalibrated'],
    ] as const) {
      const judged = judge(group, { asOf, dismissed: setAside(group, code) })
      expect(codes(judged.findings)).toEqual([code])
      expect(judged.trust).toBe(trust)
      expect(judged.aside).toEqual([])
    }
  })

  it('of a ticket comes back when the ticket is changed', () => {
    const wrong = ticket({ weightsLb: [11_900, 43_000, 34_000] })
    const dismissed = new Set(judgeTicket(wrong).map(markOf))
    expect(judgeTicket(wrong, { dismissed })).toEqual([])
    expect(judgeTicket({ ...wrong, weightsLb: [11_900, 43_000, 34_020] }, { dismissed })).toHaveLength(1)
    expect(judgeTicket({ ...wrong, ticketId: 901 }, { dismissed })).toHaveLength(1)
  })
})

describe('notDismissed', () => {
  it('keeps the order and needs both the key and the evidence', () => {
    const { findings } = judge(doubtful, { asOf })
    const all = [...findings, ...judge(history({ calibrations: [] }), { asOf }).findings]
    expect(notDismissed(all, new Set())).toEqual(all)
    expect(notDismissed(all, new Set(all.map((finding) => dismissalMark(findingKey(finding), 'other'))))).toEqual(all)
    expect(codes(notDismissed(all, new Set(all.map(markOf))))).toEqual(['no-calibration'])
  })
})
