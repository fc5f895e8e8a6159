import type { Context } from '#core/api/context.ts'
import { procedures } from '#core/api/procedures.ts'
import { progressStream } from '#core/api/progress-stream.ts'
import type { ImportOutcome, ImportProgress } from '#core/contracts/import.ts'
import { bringInFolder, writeOutFolder } from '#core/jobs/in-thread.ts'

type Source = { inbox: string } | { folder: string }

/** Brings a folder in and forgets the files that were sent for it, whatever came of it. */
async function* bringIn(
  source: Source,
  folder: string,
  { fleet, inboxes, caller }: Context,
  signal?: AbortSignal,
): AsyncGenerator<ImportProgress, ImportOutcome, void> {
  const { store, giveBack } = fleet.lease()
  try {
    return yield* progressStream<ImportProgress, ImportOutcome>(
      (stop, onProgress) => bringInFolder(store.file, folder, { signal: stop, onProgress, by: caller?.session?.name }),
      signal,
    )
  } catch (error) {
    fleet.noteFault(error)
    throw error
  } finally {
    giveBack()
    if ('inbox' in source) await inboxes.remove(source.inbox)
  }
}

export const folderHandlers = {
  bringIn: procedures.folder.bringIn.handler(async ({ input, context, signal }) => {
    const { inboxes, places } = context
    // Refused before the stream begins, so that the window can ask and call again.
    const folder = 'inbox' in input ? await inboxes.folderOf(input.inbox) : await places.real(input.folder, 'folder')
    return bringIn(input, folder, context, signal)
  }),
  writeOut: procedures.folder.writeOut.handler(async ({ input, context: { fleet, places } }) => {
    const folder = await places.real(input.folder, 'folder')
    return await fleet.use((store) => writeOutFolder(store.file, folder))
  }),
}
