import type { Context } from '#core/api/context.ts'
import { onFleet } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import { progressStream } from '#core/api/progress-stream.ts'
import { pathHere } from '#core/api/typed.ts'
import type { ImportOutcome, ImportProgress } from '#core/contracts/import.ts'
import { bringInFolder, writeOutFolder } from '#core/jobs/in-thread.ts'

type Source = { inbox: string } | { folder: string }

/** Brings a folder in and forgets the files that were sent for it, whatever came of it. */
async function* bringIn(
  source: Source,
  { fleet, inboxes, caller }: Context,
  signal?: AbortSignal,
): AsyncGenerator<ImportProgress, ImportOutcome, void> {
  const folder = 'inbox' in source ? await inboxes.folderOf(source.inbox) : pathHere(source.folder)
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
  bringIn: procedures.folder.bringIn.handler(({ input, context, signal }) => bringIn(input, context, signal)),
  writeOut: procedures.folder.writeOut.handler(
    onFleet((store, input) => writeOutFolder(store.file, pathHere(input.folder))),
  ),
}
