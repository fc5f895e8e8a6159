import { TarelineError } from '#core/words/problem.ts'
import { openLog } from '#electron/log/log.ts'
import { logFolder, reportTo } from '#electron/session.ts'

/**
 * Does a job; where it fails, the sentence of it stands on the terminal, or its details in the log, and the exit code
 * tells.
 */
export async function inWords(job: () => Promise<void>): Promise<void> {
  try {
    await job()
  } catch (error) {
    if (error instanceof TarelineError) console.error(error.message)
    else reportTo(openLog(logFolder()))(error)
    process.exitCode = error instanceof TarelineError ? 2 : 1
  }
}
