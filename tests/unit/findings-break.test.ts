import { describe, expect, it } from 'vitest'
import { eventKinds, lineBreakingEvents } from '#core/words/vocabulary.ts'
import { calibratedAt, circuit, event, find, history, instant, judge, mount } from '#tests/unit/group-history.ts'

const code = 'event-since-calibration'

describe('event-since-calibration', () => {
  it.each(eventKinds)('%s: fires exactly if it changes the line', (kind) => {
    const finding = find(history({ events: [event(kind, '2025-04-02T10:00:00Z')] }), code)
    const told = {
      severity: 'stop',
      unitId: 1,
      groupId: 10,
      since: instant('2025-04-02T10:00:00Z'),
      numbers: expect.objectContaining({ event: kind, events: 1 }),
    }
    expect(finding).toEqual(lineBreakingEvents.has(kind) ? expect.objectContaining(told) : undefined)
  })

  it('leaves the line alone when the work was before the calibration or at its very time', () => {
    expect(find(history({ events: [event('height set', calibratedAt - 1)] }), code)).toBeUndefined()
    expect(find(history({ events: [event('height set', calibratedAt)] }), code)).toBeUndefined()
    expect(find(history({ events: [event('height set', calibratedAt + 1)] }), code)).toBeDefined()
  })

  it('says what was done, when, and to which calibration', () => {
    const finding = find(history({ events: [event('valve replaced', '2025-04-02T10:00:00Z')] }), code)
    expect(finding?.message).toBe(
      'On 2025-04-02 a leveling valve was replaced, after the calibration of 2025-03-01: the line no longer describes the group.',
    )
    expect(finding?.numbers).toEqual({ event: 'valve replaced', events: 1, calibrated_on: '2025-03-01' })
    expect(finding?.nextStep).toMatch(/before trusting its weights/)
  })

  it('is one finding for all the work since, dated by the first of it', () => {
    const group = history({
      events: [
        event('axle work', '2025-05-01T10:00:00Z'),
        event('height set', '2025-04-02T10:00:00Z'),
        event('body work', '2025-04-01T10:00:00Z'),
      ],
    })
    const found = judge(group).findings.filter((finding) => finding.code === code)
    expect(found).toHaveLength(1)
    expect(found[0]).toMatchObject({
      since: instant('2025-04-02T10:00:00Z'),
      numbers: { event: 'height set', events: 2 },
    })
    expect(found[0]?.message).toContain('(and 1 more since)')
  })

  it('counts a sensor mounted after the calibration as a swap, and names the circuit where there are two', () => {
    const swapped = mount({ serial: 'S-9', mountedAt: instant('2025-04-10T09:00:00Z') })
    const one = find(
      history({ circuits: [circuit({ mounts: [mount({ removedAt: instant('2025-04-10T09:00:00Z') }), swapped] })] }),
      code,
    )
    expect(one).toMatchObject({ circuitId: 100, numbers: { event: 'sensor swapped' } })
    expect(one?.message).toMatch(/^On 2025-04-10 sensor S-9 was mounted, after/)
    const right = circuit({ circuitId: 101, name: 'right', mounts: [mount(), swapped] })
    const points = [14, 38, 60].map((psi, i) => ({
      ...(history().calibrations[0]?.points[i] as object),
      psi: [psi, psi],
    }))
    const calibrations = [{ ...history().calibrations[0], points }] as unknown as ReturnType<
      typeof history
    >['calibrations']
    const two = find(history({ circuits: [circuit({ name: 'left' }), right], calibrations }), code)
    expect(two?.circuitId).toBe(101)
    expect(two?.message).toContain('sensor S-9 was mounted on circuit right, after')
  })

  it('names the date of a mounting as the likely error where the circuit was read before, and no other sensor sat there', () => {
    const late = mount({ serial: 'S-9', mountedAt: instant('2025-04-10T09:00:00Z') })
    const finding = find(history({ circuits: [circuit({ mounts: [late] })] }), code)
    expect(finding).toMatchObject({ severity: 'stop', numbers: { event: 'sensor swapped' } })
    expect(finding?.message).toBe(
      'Sensor S-9 is recorded as mounted 2025-04-10 09:00, yet its circuit was read 2025-03-01 14:00 for the ' +
        'calibration of 2025-03-01, when no other sensor sat there: the date of the mounting is the likely error. As ' +
        'recorded, the line no longer describes the group.',
    )
    expect(finding?.nextStep).toMatch(/correct the date of its mounting/)
    // Work on the vehicle before it is what broke the line.
    const worked = history({
      circuits: [circuit({ mounts: [late] })],
      events: [event('height set', '2025-04-02T10:00:00Z')],
    })
    expect(find(worked, code)?.message).toMatch(/^On 2025-04-02 the ride height was set/)
  })

  it('takes no notice of a sensor mounted at the calibration or before', () => {
    expect(
      find(history({ circuits: [circuit({ mounts: [mount({ mountedAt: calibratedAt })] })] }), code),
    ).toBeUndefined()
  })

  it('takes the trust to upset and the due date to the day of the work', () => {
    const group = history({ events: [event('spring replaced', '2025-04-02T10:00:00Z')] })
    expect(judge(group)).toMatchObject({ trust: 'upset', dueOn: '2025-04-02' })
  })

  it('is settled by a calibration after the work', () => {
    const [first] = history().calibrations
    if (!first) throw new Error('no calibration')
    const calibrations = [first, { ...first, calibrationId: 501, calibratedAt: instant('2025-04-03T10:00:00Z') }]
    expect(judge(history({ calibrations, events: [event('spring replaced', '2025-04-02T10:00:00Z')] }))).toMatchObject({
      trust: 'sound',
    })
  })
})
