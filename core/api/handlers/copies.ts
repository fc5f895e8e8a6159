import { basename } from 'node:path'
import type { CopiesList } from '#core/api/copies-contract.ts'
import type { Context } from '#core/api/context.ts'
import { pathHere } from '#core/api/path-here.ts'
import { procedures } from '#core/api/procedures.ts'
import {
  checkCopyInThread,
  listCopiesInThread,
  restoreInThread,
  startEmptyInThread,
} from '#core/exchange/copies-in-thread.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { readFileFacts } from '#core/store/file-facts.ts'

async function list({ fleet, demo, dayCopies }: Context): Promise<CopiesList> {
  const file = fleet.file()
  const copies = await listCopiesInThread(file)
  const now = fleet.trouble() ? null : await fleet.use(async ({ raw }) => readFileFacts(raw, file))
  const trouble = fleet.trouble()
  return {
    file,
    folder: copiesFolder(file),
    demo: file === demo.file,
    trouble: trouble ? { code: trouble.code, message: trouble.message } : null,
    now,
    failure: dayCopies.failure(file),
    copies,
  }
}

export const copiesHandlers = {
  list: procedures.copies.list.handler(({ context }) => list(context)),
  check: procedures.copies.check.handler(({ input, context }) => checkCopyInThread(context.fleet.file(), input.name)),
  keep: procedures.copies.keep.handler(({ context: { fleet, dayCopies } }) =>
    fleet.use(async ({ file }) => ({ name: basename(await dayCopies.keepNow(file)) })),
  ),
  restore: procedures.copies.restore.handler(({ input, context: { fleet } }) =>
    fleet.replace(async (file, isDamaged) => ({
      file,
      ...(await restoreInThread(file, 'path' in input ? { path: pathHere(input.path) } : input, { isDamaged })),
    })),
  ),
  startEmpty: procedures.copies.startEmpty.handler(({ context: { fleet } }) => {
    if (!fleet.trouble())
      throw new TarelineError('not-needed', `${fleet.file()} is open and whole. Nothing was changed.`)
    return fleet.replace(async (file, isDamaged) => ({ file, ...(await startEmptyInThread(file, { isDamaged })) }))
  }),
}
