import { phrase } from '#core/words/phrase.ts'
import { release } from 'node:os'
import { basename } from 'node:path'
import type { Context } from '#core/api/context.ts'
import { followUpNow, holdFollowUpBack } from '#core/api/freshen.ts'
import { followNews, readState } from '#core/api/news.ts'
import { onFleet } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import type { AboutFacts } from '#core/contracts/about.ts'
import type { CopiesList } from '#core/contracts/copies.ts'
import type { Caller } from '#core/door/door.ts'
import {
  checkCopyInThread,
  inThread,
  listCopiesInThread,
  restoreInThread,
  startEmptyInThread,
} from '#core/jobs/in-thread.ts'
import { machineZone, timeNow } from '#core/store/clock.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { readFileFacts } from '#core/store/file-facts.ts'
import { leaveOnDesk, readDesk } from '#core/store/file-state.ts'
import { refuseIfToLook } from '#core/store/look-copy.ts'
import { latestStep, sqliteVersion } from '#core/store/open.ts'
import { dayOf } from '#core/words/day.ts'
import { mendedOnDesk, ofProgramOnDesk } from '#core/words/desk.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'

function factsOf({ version, fleet, log }: Context): AboutFacts {
  const {
    node,
    electron = null,
    chrome: chromium = null,
  } = process.versions as NodeJS.ProcessVersions & { readonly electron?: string; readonly chrome?: string }
  return {
    version,
    step: latestStep,
    sqlite: sqliteVersion(),
    node,
    electron,
    chromium,
    system: `${process.platform} ${process.arch} ${release()}`,
    file: fleet.file(),
    logFolder: log.folder,
  }
}

export const aboutHandlers = {
  facts: procedures.about.facts.handler(({ context }) => factsOf(context)),
  supportBundle: procedures.about.supportBundle.handler(async ({ input: { withFleet }, context }) => {
    const { file, logFolder: _, ...facts } = factsOf(context)
    // Of a file that is looked at, what can be read is its copy.
    const dbFile = context.fleet.trouble() ? file : await context.fleet.use(async (store) => store.file)
    const bytes = await inThread<Uint8Array<ArrayBuffer>>({
      kind: 'support bundle',
      dbFile,
      withFleet,
      facts,
      log: context.log.read(),
    })
    return new File([bytes], `tareline-support-${dayOf(timeNow(), machineZone())}.zip`, { type: 'application/zip' })
  }),
}

async function list({ fleet, demo, care }: Context): Promise<CopiesList> {
  const file = fleet.file()
  const copies = await listCopiesInThread(file)
  const open = fleet.trouble()
    ? null
    : await fleet.use(async (store) => ({
        facts: readFileFacts(store.raw, store.file),
        lookOnly: store.lookOnly ?? false,
      }))
  const trouble = fleet.trouble()
  return {
    file,
    folder: copiesFolder(file),
    demo: file === demo.file,
    trouble: trouble ? { code: trouble.code, message: trouble.message } : null,
    lookOnly: open?.lookOnly ?? false,
    now: open?.facts ?? null,
    failure: care.failure(file),
    secondFolder: care.second(file)?.folder ?? null,
    copies,
  }
}

export const copiesHandlers = {
  list: procedures.copies.list.handler(({ context }) => list(context)),
  check: procedures.copies.check.handler(({ input, context }) => checkCopyInThread(context.fleet.file(), input.name)),
  keep: procedures.copies.keep.handler(({ context: { fleet, care } }) =>
    fleet.use(async (store) => {
      refuseIfToLook(store)
      return { name: basename(await care.keepNow(store.file)) }
    }),
  ),
  restore: procedures.copies.restore.handler(async ({ input, context: { fleet, places } }) => {
    const copy = 'path' in input ? { path: await places.real(input.path, 'file') } : input
    return await fleet.replace(async (file, isDamaged) => ({
      file,
      ...(await restoreInThread(file, copy, { isDamaged })),
    }))
  }),
  startEmpty: procedures.copies.startEmpty.handler(({ context: { fleet } }) => {
    if (!fleet.trouble())
      throw new TarelineError(
        'not-needed',
        phrase('{fleet} is open and whole. Nothing was changed.', { fleet: fleet.file() }),
      )
    return fleet.replace(async (file, isDamaged) => ({ file, ...(await startEmptyInThread(file, { isDamaged })) }))
  }),
}

/**
 * Under which name a text lies on the desk of the open file: from another desk of the house each person has an own one.
 * What the program itself has left there for somebody to see, a manager takes away.
 */
function deskName(name: string, caller: Caller | undefined): string {
  if (!caller?.session || (name === mendedOnDesk && caller.session.role === 'manager')) return name
  return `person ${caller.session.personId}: ${name}`
}

export const deskHandlers = {
  read: procedures.desk.read.handler(
    onFleet(async ({ db }, { name }, { caller }) => ({ text: await readDesk(db, deskName(name, caller)) })),
  ),
  leave: procedures.desk.leave.handler(
    onFleet(async (store, { name, text }, { now, caller }) => {
      const place = deskName(name, caller)
      if (text !== null && ofProgramOnDesk.has(place))
        throw new TarelineError(
          'program-note',
          phrase('“{name}” is a note of the program itself: it is taken away, but not written. Nothing was saved.', {
            name,
          }),
        )
      await leaveOnDesk(store, place, text, toStoredInstant(now))
      return { left: text !== null }
    }),
  ),
  present: procedures.desk.present.handler(({ input: { form, open, by }, context: { fleet } }) => {
    fleet.presence.say({ form, by }, open)
    return { open }
  }),
}

const isOpen = ({ fleet }: Context, file: string): boolean => fleet.trouble() === undefined && fleet.file() === file

/** Who may come in to a house, may come in to its one fleet. Errors: TarelineError `house`. */
function refuseAtHouse({ house, fleet }: Context): void {
  if (!house) return
  throw new TarelineError(
    'house',
    phrase('This house serves {fleet} to its desks, and no other file. End it, then start it with the other one.', {
      fleet: fleet.file(),
    }),
  )
}

export const fileHandlers = {
  state: procedures.file.state.handler(({ context }) => readState(context)),
  open: procedures.file.open.handler(async ({ input, context }) => {
    refuseAtHouse(context)
    await context.fleet.open(await context.places.real(input.path, 'file'))
    return readState(context)
  }),
  look: procedures.file.look.handler(async ({ input, context }) => {
    refuseAtHouse(context)
    await context.fleet.open(await context.places.real(input.path, 'file'), { look: true })
    return readState(context)
  }),
  openDemo: procedures.file.openDemo.handler(async ({ context }) => {
    refuseAtHouse(context)
    // The file that is open is never made anew under its own feet.
    if (!isOpen(context, context.demo.file)) {
      await context.demo.prepare()
      await context.fleet.open(context.demo.file)
    }
    return readState(context)
  }),
  follow: procedures.file.follow.handler(({ input, context, signal }) => followNews(input, context, signal)),
  holdBack: procedures.file.holdBack.handler(async ({ context }) => {
    await context.fleet.use(holdFollowUpBack)
    return readState(context)
  }),
  followUp: procedures.file.followUp.handler(async ({ context }) => {
    await context.fleet.use((store) => followUpNow(store, timeNow(), context.report))
    return readState(context)
  }),
}
