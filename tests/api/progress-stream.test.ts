import { expect, it } from 'vitest'
import { progressStream } from '#core/api/progress-stream.ts'

const pause = (ms: number) =>
  new Promise<void>((resolve) => {
    setTimeout(resolve, ms)
  })

async function readAll<P, R>(stream: AsyncGenerator<P, R, void>): Promise<{ reports: P[]; result: R }> {
  const reports: P[] = []
  for (;;) {
    const step = await stream.next()
    if (step.done) return { reports, result: step.value }
    reports.push(step.value)
  }
}

it('gives the reports in order, then the result', async () => {
  const stream = progressStream<number, string>(async (_signal, onProgress) => {
    for (const at of [1, 2, 3]) {
      onProgress(at)
      await pause(5)
    }
    return 'done'
  })
  expect(await readAll(stream)).toEqual({ reports: [1, 2, 3], result: 'done' })
})

it('keeps only the newest report for a slow reader', async () => {
  const stream = progressStream<number, number>(async (_signal, onProgress) => {
    for (let at = 0; at < 1000; at++) onProgress(at)
    await pause(5)
    return 1000
  })
  expect(await readAll(stream)).toEqual({ reports: [999], result: 1000 })
})

it('gives a result that came without any report, and the work’s own error', async () => {
  expect(await readAll(progressStream(async () => 7))).toEqual({ reports: [], result: 7 })
  await expect(
    readAll(
      progressStream(async () => {
        throw new RangeError('as thrown')
      }),
    ),
  ).rejects.toThrow('as thrown')
})

it('stops the work when the reader leaves, and waits until it has stopped', async () => {
  let stopped = false
  const stream = progressStream<number, void>(async (signal, onProgress) => {
    onProgress(1)
    await new Promise<void>((resolve) => {
      signal.addEventListener('abort', () => resolve())
    })
    await pause(10)
    stopped = true
  })
  await stream.next()
  await stream.return()
  expect(stopped).toBe(true)
})

it('stops the work when the call is cancelled', async () => {
  const control = new AbortController()
  const stream = progressStream<number, string>(async (signal, onProgress) => {
    onProgress(1)
    await new Promise<void>((resolve) => {
      signal.addEventListener('abort', () => resolve())
    })
    return 'stopped'
  }, control.signal)
  await stream.next()
  control.abort()
  expect(await stream.next()).toEqual({ done: true, value: 'stopped' })
})
