import { mkdirSync } from 'node:fs'
import { homedir } from 'node:os'
import { basename, dirname, join, resolve } from 'node:path'
import { allowedPlaces } from '#core/api/allowed-places.ts'
import type { Context, DemoFile } from '#core/api/context.ts'
import { careForFile } from '#core/api/file-care.ts'
import type { Log } from '#core/api/note-call.ts'
import { type OpenFleet, openFleet } from '#core/api/open-fleet.ts'
import { timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { inboxesIn } from '#electron/web/inboxes.ts'

/**
 * Takes an error down: with all its words on standard error, for whoever sits at that machine, and without them in the
 * log.
 */
export const reportTo =
  (log: Log) =>
  (error: unknown): void => {
    console.error(toStoredInstant(timeNow()), error)
    log.fault(error)
  }

/** Where each system keeps a user's own data of programs. */
function dataHome(): string {
  if (process.platform === 'win32') return process.env['LOCALAPPDATA'] ?? join(homedir(), 'AppData', 'Local')
  if (process.platform === 'darwin') return join(homedir(), 'Library', 'Application Support')
  return process.env['XDG_DATA_HOME'] || join(homedir(), '.local', 'share')
}

const ownFolder = (): string => join(dataHome(), 'tareline')

/** Where the log lies, whether or not it can be written. */
export const logFolder = (): string => join(ownFolder(), 'log')

/** The user's own data folder of the app, made where it is missing. */
export function userFolder(): string {
  const folder = ownFolder()
  mkdirSync(folder, { recursive: true, mode: 0o700 })
  return folder
}

/** The fleet file that is opened when none is named. */
const usualFleetFile = (): string => join(userFolder(), 'fleet.tareline')

export interface SessionOptions {
  readonly version: string
  /** Fleet file to open; the user's usual one when not given. */
  readonly db?: string
  /** Open the demo fleet in place of a fleet file. */
  readonly startWithDemo: boolean
  readonly demo: DemoFile
  readonly inboxRoot: string
  /** The system's own window for picking a folder, where there is one. */
  readonly pickFolder?: (startAt: string | null) => Promise<string | null>
  readonly log: Log
}

/**
 * Opens the first file and makes what every procedure may reach. Errors: TarelineError of the file that cannot be
 * opened.
 */
export async function openSession({
  version,
  db,
  startWithDemo,
  demo,
  inboxRoot,
  pickFolder,
  log,
}: SessionOptions): Promise<Context> {
  const file = startWithDemo ? demo.file : (db ?? usualFleetFile())
  try {
    if (startWithDemo) await demo.prepare()
    const report = reportTo(log)
    let fleet: OpenFleet | undefined
    const care = careForFile({
      report: (error) => {
        report(error)
        fleet?.noteFault(error)
      },
      placesFile: join(userFolder(), 'second-places.json'),
      onKept: (copy) => log.write({ what: 'copied', file: basename(copy) }),
    })
    const opened = await openFleet(file, { report, onOpen: care.opened })
    fleet = opened
    const trouble = opened.trouble()
    log.write(
      trouble
        ? { what: 'not-opened', file: basename(file), code: trouble.code }
        : { what: 'opened', file: basename(file), demo: startWithDemo },
    )
    const places = allowedPlaces({
      keptIn: join(userFolder(), 'allowed-folders.json'),
      always: () => [userFolder(), demo.from, ...[file, opened.file()].map((each) => dirname(resolve(each)))],
      ...(pickFolder === undefined ? {} : { pickFolder }),
    })
    return { version, fleet: opened, care, demo, inboxes: inboxesIn(inboxRoot), places, log, report }
  } catch (error) {
    log.write({ what: 'not-opened', file: basename(file), code: error instanceof TarelineError ? error.code : 'fault' })
    throw error
  }
}
