import { codeOf } from '#core/words/problem.ts'
/** Whether a process of this machine runs. */
export function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0)
    return true
  } catch (error) {
    // Another user's process may not be asked, and runs.
    return codeOf(error) === 'EPERM'
  }
}
