const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const

/** Calls `stop` when npm, which started this program, is gone: it ends without passing its signal on. */
function watchNpm(stop: () => void): void {
  if (process.env['npm_lifecycle_event'] === undefined || process.platform === 'win32') return
  const parent = process.ppid
  const timer = setInterval(() => {
    if (process.ppid === parent) return
    clearInterval(timer)
    stop()
  }, 500).unref()
}

/**
 * From now on, the first Ctrl-C or other wish to end only resolves the promise; a second one ends the program at once.
 */
export function listenForStop(): Promise<void> {
  return new Promise((resolve) => {
    const stop = () => {
      // Without a handler the next signal has its usual effect.
      for (const signal of signals) process.off(signal, stop)
      resolve()
    }
    for (const signal of signals) process.on(signal, stop)
    watchNpm(stop)
  })
}
