import fc from 'fast-check'
import { expect, it } from 'vitest'
import type { FirstSteps } from '#core/contracts/fleet.ts'
import { firstStepsOf, nextOf, stepAfter, stepTitle } from '#renderer/parts/first-weight.tsx'

const nothing: FirstSteps = {
  yard: false,
  scale: false,
  lead: false,
  trailer: false,
  circuit: false,
  sensor: false,
  ticket: false,
  line: false,
  weighs: null,
}
const nextName = (found: Partial<FirstSteps>) => nextOf(firstStepsOf({ ...nothing, ...found }))?.name

it('the next step is the first that is not done, and what may be left out is passed over', () => {
  expect(nextName({})).toBe('yard')
  expect(nextName({ yard: true })).toBe('scale')
  expect(nextName({ scale: true })).toBe('lead')
  expect(nextName({ scale: true, lead: true })).toBe('trailer')
  expect(nextName({ scale: true, lead: true, trailer: true })).toBe('weigh-in')
  expect(nextName({ scale: true, lead: true, line: true, weighs: 'T-1' })).toBe('card')
  expect(firstStepsOf({ ...nothing, weighs: 'T-1' }).at(-1)?.href).toBe('#/weigh/T-1')
})

it('saving a step leads to the next that is not done', () => {
  expect(stepAfter(nothing, 'yard')?.name).toBe('scale')
  expect(stepAfter({ ...nothing, scale: true }, 'yard')?.name).toBe('lead')
  expect(stepAfter(nothing, 'trailer')?.href).toBe('#/weigh-in')
  expect(stepTitle(nothing, 'lead')).toBe('Step 3 of 6: add a tractor or truck')
})

it('there is always a next step, and it is never one that is done', () => {
  const steps = fc.record({
    ...Object.fromEntries(Object.keys(nothing).map((key) => [key, fc.boolean()])),
    weighs: fc.constant(null),
  }) as unknown as fc.Arbitrary<FirstSteps>
  fc.assert(
    fc.property(steps, (found) => {
      const next = nextOf(firstStepsOf(found))
      expect(next?.done).toBe(false)
    }),
  )
})
