import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { passwordProblem } from '#core/people/password-rule.ts'
import { type Patience, makeThrottle, namePatience, waitText } from '#core/people/throttle.ts'

const patience: Patience = { free: 3, firstWaitMs: 1000, longestWaitMs: 8000, forgetMs: 60_000, most: 4 }

describe('patience with tries', () => {
  it('grows from one try to the next and never beyond its longest', () => {
    const throttle = makeThrottle(patience)
    let now = 0
    const waits = Array.from({ length: 8 }, () => {
      const wait = throttle.wait('kim', now)
      now += wait
      throttle.begin('kim', now)
      return wait
    })
    expect(waits).toEqual([0, 0, 0, 1000, 2000, 4000, 8000, 8000])
    throttle.forgive('kim')
    expect(throttle.wait('kim', now)).toBe(0)
  })

  it('lets so few tries through in a day that no long password is found', () => {
    const throttle = makeThrottle(namePatience)
    let tries = 0
    for (let now = 0; now < 86_400_000; now += 1000) {
      if (throttle.wait('kim', now) > 0) continue
      throttle.begin('kim', now)
      tries += 1
    }
    expect(tries).toBeLessThan(120)
  })

  it('remembers a bounded number of names, whatever is tried', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.string(), fc.nat(100_000))), (tried) => {
        const throttle = makeThrottle(patience)
        let now = 0
        for (const [name, later] of tried) {
          now += later
          throttle.begin(name, now)
          expect(throttle.size()).toBeLessThanOrEqual(patience.most)
          expect(throttle.wait(name, now + patience.longestWaitMs)).toBe(0)
        }
      }),
    )
  })

  it('tells a wait in seconds or minutes, never shorter than it is', () => {
    expect([1, 1000, 1001, 119_000, 121_000].map(waitText)).toEqual([
      '1 second',
      '1 second',
      '2 seconds',
      '119 seconds',
      '3 minutes',
    ])
  })
})

it('a password is long rather than odd', () => {
  expect(passwordProblem('short', 'Kim')).toContain('has 5 letters; at least 10')
  expect(passwordProblem('aaaaaaaaaaaaaaaa', 'Kim')).toContain('repeats')
  expect(passwordProblem('x'.repeat(50) + 'abcdefgh'.repeat(20), 'Kim')).toContain('at most 200')
  expect(passwordProblem('Margaret Quill', 'margaret quill')).toContain('your name')
  expect(passwordProblem('four words in a row', 'Kim')).toBeUndefined()
})
