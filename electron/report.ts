import type { Log } from '#core/api/log-event.ts'

/**
 * Takes an error down: with all its words on standard error, for whoever sits at that machine, and without them in the
 * log.
 */
export const reportTo =
  (log: Log) =>
  (error: unknown): void => {
    console.error(new Date().toISOString(), error)
    log.fault(error)
  }
