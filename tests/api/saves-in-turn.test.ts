import { setImmediate } from 'node:timers/promises'
import { expect, it } from 'vitest'
import { onChange } from '#core/api/on-fleet.ts'
import { runApp } from '#tests/loopback/running-app.ts'

it('changes go one after another, each with what follows from it, and one that fails holds up none', async () => {
  await using app = await runApp()
  const seen: string[] = []
  const change = onChange<string, string>(async (_, input) => {
    seen.push(`${input} begins`)
    for (let turn = 0; turn < 20; turn += 1) await setImmediate()
    if (input === 'b') throw new Error('refused')
    seen.push(`${input} ends`)
    return input
  })
  const saved = await Promise.allSettled(['a', 'b', 'c'].map((input) => change({ input, context: app.context })))
  expect(saved.map(({ status }) => status)).toEqual(['fulfilled', 'rejected', 'fulfilled'])
  expect(seen).toEqual(['a begins', 'a ends', 'b begins', 'c begins', 'c ends'])
})
