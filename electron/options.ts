import { parseArgs } from 'node:util'
import { TarelineError } from '#core/words/problem.ts'

export interface StartOptions {
  /** Fleet file to open; the user's usual one when not given. */
  readonly db?: string
  readonly demo: boolean
  readonly loopback: boolean
  readonly window: boolean
  /** 0: any free port. */
  readonly port: number
  readonly help: boolean
}

export const usage = `Usage: npm start -- [options]

  --db FILE     open this fleet file (made where there is none)
  --demo        open the demo fleet
  --loopback    use the installed browser as the window, not Electron
  --port N      port of the loopback window, 1 to 65535 (default: any free one)
  --no-window   open no window: print the address and serve until Ctrl-C
  --help        show this
`

function readPort(text: string | undefined): number {
  if (text === undefined) return 0
  const port = Number(text)
  if (!/^\d+$/.test(text) || port < 1 || port > 65535)
    throw new TarelineError('usage', `--port is "${text}"; a whole number from 1 to 65535 is accepted.`)
  return port
}

/** Reads the arguments of `npm start`. Errors: TarelineError `usage`, with a sentence. */
export function readOptions(args: readonly string[]): StartOptions {
  try {
    const { values } = parseArgs({
      args: [...args],
      allowNegative: true,
      options: {
        db: { type: 'string' },
        demo: { type: 'boolean', default: false },
        loopback: { type: 'boolean', default: false },
        window: { type: 'boolean', default: true },
        port: { type: 'string' },
        help: { type: 'boolean', short: 'h', default: false },
      },
    })
    if (values.db === '') throw new TarelineError('usage', '--db names no file; the path of a fleet file is accepted.')
    if (values.demo && values.db !== undefined)
      throw new TarelineError('usage', '--demo and --db each name a fleet file; give one of them.')
    return {
      demo: values.demo,
      loopback: values.loopback,
      window: values.window,
      port: readPort(values.port),
      help: values.help,
      ...(values.db === undefined ? {} : { db: values.db }),
    }
  } catch (error) {
    if (error instanceof TarelineError) throw error
    throw new TarelineError(
      'usage',
      `${error instanceof Error ? error.message.split('. ')[0] : String(error)}. ` +
        'Run with --help to see what is accepted.',
      { cause: error },
    )
  }
}
