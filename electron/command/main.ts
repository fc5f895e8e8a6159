import { processStreams } from '#electron/command/command.ts'
import { commands, runCommandLine } from '#electron/command/run-command.ts'

/** Does what the words of the command line ask for, and leaves its exit code. */
export async function runTareline(words: readonly string[]): Promise<void> {
  process.exitCode = await runCommandLine(commands, words, processStreams())
}
