import { mkdirSync } from 'node:fs'
import { homedir } from 'node:os'
import { join } from 'node:path'

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
export const usualFleetFile = (): string => join(userFolder(), 'fleet.tareline')
