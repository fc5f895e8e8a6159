import { existsSync } from 'node:fs'
import { dirname, join } from 'node:path'

/** The folder that the program runs from, whether as its sources, bundled or packed. */
export function programRoot(): string {
  let folder = import.meta.dirname
  while (!existsSync(join(folder, 'package.json'))) folder = dirname(folder)
  return folder
}
