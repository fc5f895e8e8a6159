import { describe, expect, it } from 'vitest'
import { calibratedAt, judgeTicket, scale, ticket } from '#tests/unit/group-history.ts'

describe('ticket-sum-mismatch', () => {
  it('stays silent when the weights add up', () => {
    expect(judgeTicket(ticket())).toEqual([])
  })

  it('allows one division for each weight and one for the gross: 80 lb for three weights on a 20 lb scale', () => {
    expect(judgeTicket(ticket({ grossLb: 79_820 }))).toEqual([])
    expect(judgeTicket(ticket({ grossLb: 79_980 }))).toEqual([])
    expect(judgeTicket(ticket({ grossLb: 79_819 }))).toHaveLength(1)
    expect(judgeTicket(ticket({ grossLb: 79_981 }))).toHaveLength(1)
  })

  it('says sum, gross and difference, and names ticket and scale', () => {
    const [finding] = judgeTicket(ticket({ weightsLb: [11_900, 43_000, 34_000] }))
    expect(finding).toMatchObject({
      code: 'ticket-sum-mismatch',
      severity: 'warn',
      unitId: 1,
      groupId: null,
      circuitId: null,
      scaleId: 7,
      ticketId: 900,
      since: calibratedAt,
    })
    expect(finding?.numbers).toEqual({
      sum_lb: 88_900,
      gross_lb: 79_900,
      difference_lb: 9000,
      allowed_lb: 80,
      weights: 3,
    })
    expect(finding?.message).toBe(
      'The axle weights of ticket 55120 of 2025-03-01 add up to 88,900 lb, 9,000 lb more than its gross of 79,900 lb.',
    )
    expect(judgeTicket(ticket({ grossLb: 90_000 }))[0]?.message).toContain('10,100 lb less than its gross of 90,000 lb')
  })

  it('takes a sum below gross for groups not weighed, unless the ticket is complete', () => {
    const steerAndDrive = { weightsLb: [11_900, 34_000], groupIds: [9, 10], complete: false }
    expect(judgeTicket(ticket(steerAndDrive))).toEqual([])
    expect(judgeTicket(ticket({ ...steerAndDrive, complete: true }))).toHaveLength(1)
    expect(judgeTicket(ticket({ ...steerAndDrive, grossLb: 45_000 }))).toHaveLength(1)
  })

  it('stays silent without a gross and without weights', () => {
    expect(judgeTicket(ticket({ grossLb: null }))).toEqual([])
    expect(judgeTicket(ticket({ weightsLb: [], groupIds: [], complete: false }))).toEqual([])
  })

  it('takes the House Rules division where the scale has none on record', () => {
    const coarse = { scales: [{ ...scale, divisionLb: null }], rules: { scaleDivisionLb: 100 } }
    expect(judgeTicket(ticket({ grossLb: 79_500 }), coarse)).toEqual([])
    expect(judgeTicket(ticket({ grossLb: 79_499 }), coarse)).toHaveLength(1)
    expect(judgeTicket(ticket({ grossLb: 79_819 }), { scales: [] })).toHaveLength(1)
  })
})
