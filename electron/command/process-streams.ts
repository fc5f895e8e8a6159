import type { Streams } from '#electron/command/run-command.ts'

/** The process's own standard streams; progress is shown only to a terminal, and Ctrl-C asks the command to stop. */
export function processStreams(): Streams {
  const stop = new AbortController()
  // Once only: who presses twice means it.
  process.once('SIGINT', () => stop.abort())
  // A reader that has seen enough, such as `head`, is no fault.
  let left = false
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error
    left = true
  })
  let shown = false
  return {
    out: (text) => {
      if (left) return undefined
      return new Promise<void>((done) => {
        process.stdout.write(text, () => done())
      })
    },
    isLeft: () => left,
    error: (text) => process.stderr.write(text),
    terminal: {
      signal: stop.signal,
      progress: (text) => {
        if (!process.stderr.isTTY || (text === undefined && !shown)) return
        process.stderr.write(`\r\u001b[K${text ?? ''}`)
        shown = text !== undefined
      },
    },
  }
}
