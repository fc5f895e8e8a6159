import { join } from 'node:path'
import type { DemoFile } from '#core/api/context.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { userFolder } from '#electron/user-folder.ts'

export function demoFile(_fleetFolder: string): DemoFile {
  return {
    file: join(userFolder(), 'demo.tareline'),
    prepare: async () => {
      throw new TarelineError('no-demo', 'The demo fleet is not part of this copy of Tareline.')
    },
  }
}
