/**
 * Long work as a stream: what it reports while it runs, then its result. Only the newest report waits to be fetched, so
 * a slow reader never holds the work up. Work is told to stop by its signal when `outer` aborts or the reader leaves.
 */
export async function* progressStream<P, R>(
  work: (signal: AbortSignal, onProgress: (progress: P) => void) => Promise<R>,
  outer?: AbortSignal,
): AsyncGenerator<P, R, void> {
  const leave = new AbortController()
  const signal = outer ? AbortSignal.any([outer, leave.signal]) : leave.signal
  let newest: { progress: P } | undefined
  let finished = false
  let wake = Promise.withResolvers<void>()
  const result = work(signal, (progress) => {
    newest = { progress }
    wake.resolve()
  })
  const settled = result
    .then(
      () => undefined,
      () => undefined,
    )
    .then(() => {
      finished = true
      wake.resolve()
    })
  try {
    while (!finished) {
      await wake.promise
      wake = Promise.withResolvers()
      if (newest && !finished) {
        const { progress } = newest
        newest = undefined
        yield progress
      }
    }
    return await result
  } finally {
    leave.abort()
    await settled
  }
}
