import { basename, join } from 'node:path'
import type { Context } from '#core/api/context.ts'
import { onFleet } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import { progressStream } from '#core/api/progress-stream.ts'
import type { ForeignFileSource, ForeignOutcome } from '#core/contracts/foreign.ts'
import type { ImportProgress } from '#core/contracts/import.ts'
import { type ForeignMapping, foreignFile } from '#core/foreign/mapping/mapping.ts'
import { previewForeign } from '#core/foreign/preview-foreign.ts'
import { bringInForeign } from '#core/jobs/in-thread.ts'
import { timeNow } from '#core/store/clock.ts'
import { listMappings, readForeignFacts, removeMapping, saveMapping } from '#core/store/mappings.ts'
import { toStoredInstant } from '#core/words/instant.ts'

async function pathOf(source: ForeignFileSource, { inboxes, places }: Context): Promise<string> {
  return 'inbox' in source
    ? join(await inboxes.folderOf(source.inbox), foreignFile)
    : await places.real(source.path, 'file')
}

/** A picked file stays in its inbox while it is refused: it may be imported again under other settings. */
async function* bringIn(
  { source, mapping, goodRows }: { source: ForeignFileSource; mapping: ForeignMapping; goodRows: boolean },
  path: string,
  context: Context,
  signal?: AbortSignal,
): AsyncGenerator<ImportProgress, ForeignOutcome, void> {
  const { store, giveBack } = context.fleet.lease()
  try {
    const outcome = yield* progressStream<ImportProgress, ForeignOutcome>(
      (stop, onProgress) =>
        bringInForeign(
          store.file,
          { path, name: 'inbox' in source ? source.name : basename(path), mapping, goodRows },
          { signal: stop, onProgress, by: context.caller?.session?.name },
        ),
      signal,
    )
    if (outcome.outcome === 'stored' && 'inbox' in source) await context.inboxes.remove(source.inbox)
    return outcome
  } catch (error) {
    context.fleet.noteFault(error)
    throw error
  } finally {
    giveBack()
  }
}

const now = (by: string) => ({ by, at: toStoredInstant(timeNow()) })

export const foreignHandlers = {
  preview: procedures.foreign.preview.handler(async ({ input: { source, mapping, zone }, context }) => {
    const path = await pathOf(source, context)
    return await context.fleet.use(async ({ db }) =>
      previewForeign({ path, mapping, zone, saved: await listMappings(db), facts: await readForeignFacts(db) }),
    )
  }),
  // Refused before the stream begins, so that the window can ask and call again.
  bringIn: procedures.foreign.bringIn.handler(async ({ input, context, signal }) =>
    bringIn(input, await pathOf(input.source, context), context, signal),
  ),
  mappings: procedures.foreign.mappings.handler(onFleet(({ db }) => listMappings(db))),
  saveMapping: procedures.foreign.saveMapping.handler(
    onFleet(async (store, { id, name, mapping, by }) => ({
      id: await store.db.transaction().execute((db) => saveMapping(db, { id, name, mapping }, now(by))),
      name,
      mapping,
    })),
  ),
  removeMapping: procedures.foreign.removeMapping.handler(
    onFleet(async (store, { id, by }) => {
      await store.db.transaction().execute((db) => removeMapping(db, id, now(by)))
      return { removed: true as const }
    }),
  ),
}
