const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const

/** Calls `stop` when npm, which started this program, is gone: it ends without passing its signal on. */
function watchNpm(stop: () => void): () => void {
  if (process.env['npm_lifecycle_event'] === undefined || process.platform === 'win32') return () => undefined
  const parent = process.ppid
  const timer = setInterval(() => { if (process.ppid !== parent) stop() }, 500)
  return () => clearInterval(timer)
}

/** Waits until the window is closed or someone asks the program to end; a second Ctrl-C ends it at once. */
export function untilStopped(closed?: Promise<void>): Promise<void> {
  return new Promise((resolve) => {
    const stop = () => {
      // Without a handler the next signal has its usual effect.
      for (const signal of signals) process.off(signal, stop)
      forgetNpm()
      resolve()
    }
    const forgetNpm = watchNpm(stop)
    for (const signal of signals) process.on(signal, stop)
    void closed?.then(stop)
  })
}
