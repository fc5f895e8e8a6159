import { QueryObserver } from '@tanstack/react-query'
import { setImmediate } from 'node:timers/promises'
import { afterEach, describe, expect, it } from 'vitest'
import { renewing } from '#renderer/client/queries.ts'
import { queryClient } from '#renderer/client/query-client.ts'

/** Something on the screen that is asked again and not answered before `answer` is called. */
function slowScreen() {
  const asked = Promise.withResolvers<void>()
  const { promise, resolve: answer } = Promise.withResolvers<string>()
  const observer = new QueryObserver(queryClient, {
    queryKey: [['heavy', 'list'], { type: 'query' }],
    queryFn: async () => {
      asked.resolve()
      return await promise
    },
    initialData: 'old',
    staleTime: Number.POSITIVE_INFINITY,
  })
  return { leave: observer.subscribe(() => {}), asked: asked.promise, answer: () => answer('new') }
}

const call = renewing({ call: async () => 'saved' })

describe('what depends on a save', () => {
  let screen: ReturnType<typeof slowScreen>
  afterEach(() => {
    screen.leave()
    queryClient.clear()
  })

  it('is asked again beside the answer to a save whose form goes on at once', async () => {
    screen = slowScreen()
    expect(await call.call(['weigh', 'save'], {}, { context: {} })).toBe('saved')
    await screen.asked
    screen.answer()
  })

  it('is new before the answer to any other save is given', async () => {
    screen = slowScreen()
    let isTold = false
    const saved = call.call(['fleet', 'save'], {}, { context: {} }).then(() => {
      isTold = true
    })
    await screen.asked
    await setImmediate()
    expect(isTold).toBe(false)
    screen.answer()
    await saved
    expect(isTold).toBe(true)
  })
})
