import { describe, expect, it } from 'vitest'
import { openPresence, presentMs } from '#core/api/presence.ts'

describe('who has which form open', () => {
  const form = 'unit 12 edit'

  it('is told once somebody comes or goes, and not while they stay', () => {
    let told = 0
    const presence = openPresence(
      () => (told += 1),
      () => 0,
    )
    presence.say({ form, by: 'Kim Vale' }, true)
    presence.say({ form, by: 'Kim Vale' }, true)
    presence.say({ form, by: 'Lou Hart' }, true)
    expect([told, presence.list()]).toEqual([
      2,
      [
        { form, by: 'Kim Vale' },
        { form, by: 'Lou Hart' },
      ],
    ])
    presence.say({ form, by: 'Kim Vale' }, false)
    presence.say({ form, by: 'Kim Vale' }, false)
    expect([told, presence.list()]).toEqual([3, [{ form, by: 'Lou Hart' }]])
  })

  it('is forgotten of a window that says nothing more', () => {
    let now = 0
    const presence = openPresence(
      () => undefined,
      () => now,
    )
    presence.say({ form, by: 'Kim Vale' }, true)
    now = presentMs - 1
    presence.say({ form, by: 'Lou Hart' }, true)
    expect(presence.list()).toHaveLength(2)
    now = presentMs
    expect(presence.list()).toEqual([{ form, by: 'Lou Hart' }])
  })

  it('has an end, whatever is asked', () => {
    const presence = openPresence(
      () => undefined,
      () => 0,
    )
    for (let i = 0; i < 2000; i += 1) presence.say({ form, by: `person ${i}` }, true)
    expect(presence.list()).toHaveLength(500)
  })

  it('leaves room for others, however many forms one person says to have open', () => {
    const presence = openPresence(
      () => undefined,
      () => 0,
    )
    for (let i = 0; i < 2000; i += 1) presence.say({ form: `form ${i}`, by: 'Kim Vale' }, true)
    presence.say({ form, by: 'Lou Hart' }, true)
    const told = presence.list()
    expect([told.length, told.at(-1)]).toEqual([21, { form, by: 'Lou Hart' }])
  })
})
