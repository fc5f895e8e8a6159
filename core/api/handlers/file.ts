import type { Context } from '#core/api/context.ts'
import type { FileState } from '#core/api/contract.ts'
import { pathHere } from '#core/api/path-here.ts'
import { procedures } from '#core/api/procedures.ts'
import { readFileState } from '#core/store/file-state.ts'

const state = ({ fleet, demo, dayCopies, version }: Context): Promise<FileState> =>
  fleet.use(async (store) => ({
    ...(await readFileState(store.db)),
    file: store.file,
    demo: store.file === demo.file,
    version,
    copyFailure: dayCopies.failure(store.file),
  }))

const isOpen = ({ fleet }: Context, file: string): boolean => fleet.trouble() === undefined && fleet.file() === file

export const fileHandlers = {
  state: procedures.file.state.handler(({ context }) => state(context)),
  open: procedures.file.open.handler(async ({ input, context }) => {
    await context.fleet.open(pathHere(input.path))
    return state(context)
  }),
  openDemo: procedures.file.openDemo.handler(async ({ context }) => {
    // The file that is open is never made anew under its own feet.
    if (!isOpen(context, context.demo.file)) {
      await context.demo.prepare()
      await context.fleet.open(context.demo.file)
    }
    return state(context)
  }),
}
