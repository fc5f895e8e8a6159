import { phrase, phraseLater, spoken } from '#core/words/phrase.ts'
import { accessSync, constants, existsSync } from 'node:fs'
import { dirname } from 'node:path'
import { codeOf, TarelineError } from '#core/words/problem.ts'

type Fault = 'not-a-database' | 'damaged' | 'locked' | 'read-only' | 'disk-full' | 'disk-error' | 'cannot-open'

/** SQLite's and the system's codes, each by how it begins; the first that fits counts. */
const beginnings: readonly (readonly [string, Fault])[] = [
  ['SQLITE_NOTADB', 'not-a-database'],
  ['SQLITE_CORRUPT', 'damaged'],
  ['SQLITE_BUSY', 'locked'],
  ['SQLITE_LOCKED', 'locked'],
  ['EBUSY', 'locked'],
  ['SQLITE_READONLY', 'read-only'],
  ['SQLITE_PERM', 'read-only'],
  ['EACCES', 'read-only'],
  ['EPERM', 'read-only'],
  ['EROFS', 'read-only'],
  ['SQLITE_FULL', 'disk-full'],
  ['ENOSPC', 'disk-full'],
  ['EDQUOT', 'disk-full'],
  // The index of the log could not be made longer.
  ['SQLITE_IOERR_SHMSIZE', 'disk-full'],
  ['SQLITE_IOERR', 'disk-error'],
  ['EIO', 'disk-error'],
  ['SQLITE_CANTOPEN', 'cannot-open'],
  ['ENOENT', 'cannot-open'],
  ['EISDIR', 'cannot-open'],
  ['ENOTDIR', 'cannot-open'],
  ['ENAMETOOLONG', 'cannot-open'],
  ['ELOOP', 'cannot-open'],
]

/** What the disk or another program did, if that is what an error tells of; undefined for anything else. */
export function faultOf(error: unknown): Fault | undefined {
  const code = codeOf(error) ?? ''
  return beginnings.find(([beginning]) => code.startsWith(beginning))?.[1]
}

const atOpening: Readonly<Record<Fault, (file: string) => string>> = {
  'not-a-database': (file) =>
    phrase('{file} is not a Tareline database. Choose the file of a fleet, or a new name to start one.', { file }),
  damaged: (file) =>
    phrase('{file} is damaged and was left as it is. Restore the newest copy from its copies folder.', { file }),
  locked: (file) =>
    phrase('{file} is in use by another program. Close that program, then open the file again.', { file }),
  'read-only': (file) =>
    phrase(
      '{file} lies where nothing can be written to. To look at it, copy it into a folder that you may change and open that copy; the file itself stays as it is.',
      { file },
    ),
  'disk-full': (file) =>
    phrase('The disk that holds {file} is full. Free some space, then open the file again.', { file }),
  'disk-error': (file) =>
    phrase(
      'The disk that holds {file} does not answer as it should. Check its cable or connection, then open the file again.',
      { file },
    ),
  'cannot-open': (file) =>
    phrase('{file} cannot be opened. Check that the folder exists and that the name is a file.', { file }),
}

const duringWork: Readonly<Record<Fault, string>> = spoken({
  'not-a-database': phraseLater(
    'The fleet file is damaged. Nothing more is written to it: restore the newest copy on the Copies screen.',
  ),
  damaged: phraseLater(
    'The fleet file is damaged. Nothing more is written to it: restore the newest copy on the Copies screen.',
  ),
  locked: phraseLater(
    'Another program is using the fleet file and does not let go of it. Nothing of this step was saved. Close that program, or wait until it is done, then try again.',
  ),
  'read-only': phraseLater(
    'The fleet file or its folder cannot be written to. Nothing of this step was saved. Give yourself the right to change the folder, then try again.',
  ),
  'disk-full': phraseLater(
    'The disk that holds the fleet file is full, so that this could not be done. Nothing of this step was saved. Free some space, then try again.',
  ),
  'disk-error': phraseLater(
    'The disk that holds the fleet file does not answer as it should. Nothing of this step was saved. Check its cable or connection, then start Tareline again.',
  ),
  'cannot-open': phraseLater(
    'The fleet file or its folder is no longer there. Nothing of this step was saved. Connect the disk again or put the folder back, then try again.',
  ),
})

function mayWrite(path: string): boolean {
  try {
    accessSync(path, constants.W_OK)
    return true
  } catch {
    return false
  }
}

/** Whether this account may write a file and, as SQLite does, make others beside it. */
export const mayBeWritten = (file: string): boolean => mayWrite(file) && mayWrite(dirname(file))

/** The nearest folder above a path that is there. */
function nearestFolder(path: string): string {
  const above = dirname(path)
  return above === path || existsSync(above) ? above : nearestFolder(above)
}

/**
 * What kept something from being made at a path. Node says of a folder on a read-only disk that it is not there.
 */
export function faultOfMaking(error: unknown, path: string): Fault | undefined {
  const fault = faultOf(error)
  return fault === 'cannot-open' && !existsSync(path) && !mayWrite(nearestFolder(path)) ? 'read-only' : fault
}

/** Why a file cannot be opened, each with a sentence for the person who chose it. */
export function openingError(error: unknown, file: string): TarelineError {
  if (error instanceof TarelineError) return error
  const found = faultOf(error)
  // Without a log beside it SQLite cannot even read a file where it may not make one, and says no more than that.
  const fault = found === 'cannot-open' && existsSync(file) && !mayWrite(dirname(file)) ? 'read-only' : found
  if (!existsSync(file) && faultOfMaking(error, file) === 'read-only')
    return new TarelineError(
      'read-only',
      phrase(
        '{file} is not there, and it cannot be made: nothing can be written to its folder. Name a file in a folder that you may change.',
        { file },
      ),
      { cause: error },
    )
  if (fault) return new TarelineError(fault, atOpening[fault](file), { cause: error })
  return new TarelineError(
    'cannot-open',
    phrase('{file} cannot be opened: {why}.', {
      file,
      why: error instanceof Error ? error.message : String(error),
    }),
    { cause: error },
  )
}

/** What is there once only, by the columns that SQLite names where it would be there twice. */
const onceOnly: Readonly<Record<string, string>> = spoken({
  'ticket.scale_id, ticket.number': phraseLater('a ticket of this number on this scale'),
  'ticket_weight.': phraseLater('a weight of this group on this ticket'),
  "index 'one_weight_of_a_group'": phraseLater('a weight of this group on this ticket'),
  'reading.name': phraseLater('a reading of this name'),
  'reading_pressure.': phraseLater('a pressure of this circuit in this reading'),
  'calibration.': phraseLater('a calibration of this group at this time'),
  'unit.number': phraseLater('a unit of this number'),
  'axle_group.': phraseLater('a group of this name on this unit'),
  'circuit.': phraseLater('a circuit of this name in this group'),
  'sensor.serial': phraseLater('a sensor of this serial number'),
  'mount.': phraseLater('a mount of this sensor at this time'),
  'battery_change.': phraseLater('a change of this sensor’s cell at this time'),
  'scale.name': phraseLater('a scale of this name'),
  'yard.name': phraseLater('a yard of this name'),
  'mapping.name': phraseLater('a mapping of this name'),
  'planned_visit.': phraseLater('a visit of this unit on this day'),
})

/**
 * Windows look before they save, and SQLite looks again: what it refuses then, another window has saved or taken away
 * in between.
 */
function outrun(error: unknown): TarelineError | undefined {
  const code = codeOf(error)
  const cause = { cause: error }
  if (code === 'SQLITE_CONSTRAINT_UNIQUE' || code === 'SQLITE_CONSTRAINT_PRIMARYKEY') {
    const about = String(error).replace(/^.*constraint failed: /, '')
    const words = Object.entries(onceOnly).find(([columns]) => about.startsWith(columns))?.[1] ?? phrase('the same')
    return new TarelineError(
      'exists',
      phrase(
        'Meanwhile another window has just saved {words}. Nothing of this was saved. Look at what it saved, then save again what is still needed.',
        { words },
      ),
      cause,
    )
  }
  if (code === 'SQLITE_CONSTRAINT_FOREIGNKEY')
    return new TarelineError(
      'gone',
      phrase(
        'Meanwhile another window has removed something that this belongs to. Nothing of this was saved. Look at what is there now, then save again.',
      ),
      cause,
    )
  return undefined
}

/**
 * The sentence for what the disk, another program or another window did to a step under way; undefined where the fault
 * is the program's.
 */
export function faultDuringWork(error: unknown): TarelineError | undefined {
  const ahead = outrun(error)
  if (ahead) return ahead
  const fault = faultOf(error)
  // A name that a procedure was given and that is not there is its own to explain; only SQLite speaks of the fleet
  // file.
  if (!fault || (fault === 'cannot-open' && faultIsOfTheSystem(error))) return undefined
  return new TarelineError(fault, duringWork[fault], { cause: error })
}

const faultIsOfTheSystem = (error: unknown): boolean => codeOf(error)?.startsWith('SQLITE_') === false
