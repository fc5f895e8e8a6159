import { release } from 'node:os'
import type { LogEvent } from '#core/api/log-event.ts'

/** What runs where, as the first line of a run; of the machine only its kind of system. */
export function startOf(window: Extract<LogEvent, { what: 'start' }>['window'], version: string): LogEvent {
  const { node, electron } = process.versions
  return {
    what: 'start',
    window,
    version,
    node,
    ...(electron === undefined ? {} : { electron }),
    system: `${process.platform} ${process.arch} ${release()}`,
  }
}
