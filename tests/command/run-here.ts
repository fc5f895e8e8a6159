import { commands, runCommandLine } from '#electron/command/run-command.ts'

/** Runs a command line in this process: quick, and the same but for the process itself, which other tests start. */
export async function runHere(...args: string[]): Promise<{ exit: number; out: string; error: string }> {
  let out = ''
  let error = ''
  const exit = await runCommandLine(commands, args, {
    out: (text) => {
      out += typeof text === 'string' ? text : Buffer.from(text).toString()
    },
    error: (text) => {
      error += text
    },
    terminal: { progress: () => {}, signal: new AbortController().signal },
  })
  return { exit, out, error }
}
