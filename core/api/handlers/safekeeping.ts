import type { Context } from '#core/api/context.ts'
import { procedures } from '#core/api/procedures.ts'
import type { SafekeepingPage } from '#core/contracts/safekeeping.ts'
import { checkFileInThread } from '#core/jobs/in-thread.ts'
import { doneAt, overdueDays } from '#core/store/care-due.ts'
import { readCheckNote, readRehearsalNote } from '#core/store/care-notes.ts'
import { timeNow } from '#core/store/clock.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { refuseIfToLook } from '#core/store/look-copy.ts'
import { isOnSameDisk } from '#core/store/second-place.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'

function secondOf({ care }: Context, file: string, now: number): SafekeepingPage['second'] {
  const place = care.second(file)
  if (place === null) return null
  const { folder, newest, chosenAt } = place
  return {
    folder,
    newest,
    sameDisk: isOnSameDisk(file, folder),
    failure: care.secondFailure(file),
    overdueDays: overdueDays('second', newest && fromStoredInstant(newest.madeAt), fromStoredInstant(chosenAt), now),
  }
}

const pageOf = (context: Context): Promise<SafekeepingPage> =>
  context.fleet.use(async (store, { file }) => page(context, file, store.lookOnly ?? false))

function page(context: Context, file: string, lookOnly: boolean): SafekeepingPage {
  const { demo, care } = context
  const now = timeNow()
  const copies = listCopyNames(file).filter(({ at }) => at !== null)
  const [newest, first] = [copies[0], copies.at(-1)]
  const [checked, rehearsed] = [readCheckNote(file), readRehearsalNote(file)]
  return {
    file,
    demo: file === demo.file,
    lookOnly,
    checked,
    checkOverdueDays: overdueDays('check', doneAt(checked), first?.at ?? null, now),
    copiesFolder: copiesFolder(file),
    copies: copies.length,
    lastCopy: newest?.at == null ? null : { name: newest.name, madeAt: toStoredInstant(newest.at) },
    copyFailure: care.failure(file),
    rehearsed,
    rehearsalOverdueDays: overdueDays('rehearsal', doneAt(rehearsed), first?.at ?? null, now),
    second: secondOf(context, file, now),
  }
}

/** Does what is done for the open file, which must be open for changes. Errors: TarelineError `look-only`. */
async function caring<T>({ fleet }: Context, work: (file: string) => Promise<T>): Promise<T> {
  // The file is not held meanwhile: a drive may take its time, and nobody is to wait for it.
  const name = await fleet.use(async (store) => {
    refuseIfToLook(store)
    return store.file
  })
  return await work(name)
}

export const safekeepingHandlers = {
  page: procedures.safekeeping.page.handler(({ context }) => pageOf(context)),
  checkNow: procedures.safekeeping.checkNow.handler(({ context: { fleet } }) =>
    fleet.use(({ file }) => checkFileInThread(file)),
  ),
  rehearseNow: procedures.safekeeping.rehearseNow.handler(({ context }) => caring(context, context.care.rehearseNow)),
  chooseSecond: procedures.safekeeping.chooseSecond.handler(async ({ input: { folder }, context }) => {
    const place = folder === null ? null : await context.places.real(folder, 'folder')
    await caring(context, async (file) => {
      context.care.chooseSecond(file, place)
      await context.care.bringToSecond(file)
    })
    return await pageOf(context)
  }),
  copyToSecond: procedures.safekeeping.copyToSecond.handler(async ({ context }) => {
    await caring(context, context.care.bringToSecond)
    return await pageOf(context)
  }),
}
