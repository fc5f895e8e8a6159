import { isAbsolute } from 'node:path'
import { examplePaths } from '#core/api/typed-path.ts'
import { TarelineError } from '#core/fleet/problem.ts'

/** A full path of another system's kind would be taken as a name within whatever folder the app was started in. */
export function pathHere(path: string): string {
  if (isAbsolute(path)) return path
  throw new TarelineError(
    'not-a-path',
    `${path} is not a full path on this computer. A full path is accepted, such as ${examplePaths[process.platform === 'win32' ? 'windows' : 'other']}.`,
  )
}
