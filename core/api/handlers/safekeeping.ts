import type { Context } from '#core/api/context.ts'
import { procedures } from '#core/api/procedures.ts'
import { pathHere } from '#core/api/typed.ts'
import type { SafekeepingPage } from '#core/contracts/safekeeping.ts'
import { checkFileInThread } from '#core/jobs/in-thread.ts'
import { doneAt, overdueDays } from '#core/store/care-due.ts'
import { readCheckNote, readRehearsalNote } from '#core/store/care-notes.ts'
import { timeNow } from '#core/store/clock.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { isOnSameDisk } from '#core/store/second-place.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'

function secondOf({ fleet, care }: Context, now: number): SafekeepingPage['second'] {
  const file = fleet.file()
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

function pageOf(context: Context): SafekeepingPage {
  const { fleet, demo, care } = context
  const file = fleet.file()
  const now = timeNow()
  const copies = listCopyNames(file).filter(({ at }) => at !== null)
  const [newest, first] = [copies[0], copies.at(-1)]
  const [checked, rehearsed] = [readCheckNote(file), readRehearsalNote(file)]
  return {
    file,
    demo: file === demo.file,
    checked,
    checkOverdueDays: overdueDays('check', doneAt(checked), first?.at ?? null, now),
    copiesFolder: copiesFolder(file),
    copies: copies.length,
    lastCopy: newest?.at == null ? null : { name: newest.name, madeAt: toStoredInstant(newest.at) },
    copyFailure: care.failure(file),
    rehearsed,
    rehearsalOverdueDays: overdueDays('rehearsal', doneAt(rehearsed), first?.at ?? null, now),
    second: secondOf(context, now),
  }
}

export const safekeepingHandlers = {
  page: procedures.safekeeping.page.handler(({ context }) => pageOf(context)),
  checkNow: procedures.safekeeping.checkNow.handler(({ context: { fleet } }) =>
    fleet.use(({ file }) => checkFileInThread(file)),
  ),
  rehearseNow: procedures.safekeeping.rehearseNow.handler(({ context: { fleet, care } }) =>
    care.rehearseNow(fleet.file()),
  ),
  chooseSecond: procedures.safekeeping.chooseSecond.handler(async ({ input: { folder }, context }) => {
    const { fleet, care } = context
    care.chooseSecond(fleet.file(), folder === null ? null : pathHere(folder))
    await care.bringToSecond(fleet.file())
    return pageOf(context)
  }),
  copyToSecond: procedures.safekeeping.copyToSecond.handler(async ({ context }) => {
    await context.care.bringToSecond(context.fleet.file())
    return pageOf(context)
  }),
}
