import { onFollowUp, standingOf } from '#core/api/freshen.ts'
import type { Context } from '#core/api/context.ts'
import { type FileState, type News, type Seen, mostChangesTold } from '#core/contracts/file.ts'
import { readFileState } from '#core/store/file-state.ts'
import { listChangesSince, readSince } from '#core/store/renewals.ts'
import { countRoster } from '#core/store/roster-lines.ts'
import { listRoster } from '#core/store/roster.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { touchKinds } from '#core/words/touch.ts'
import { TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

/** Windows that can follow at a time; whoever comes later asks as it did before. */
export const mostFollowers = 256
/** How often it is looked whether anybody has written to the file: this program, a thread of it, another program. */
export const lookEveryMs = 300
/** What was found of the state of the file does so long for all windows, unless something happens before. */
const stateForMs = 200
/** A window is told at least so often that all is well. */
export const beatMs = 3000

/** Tells whoever follows the open file that something may have happened to it. */
export interface NewsDesk {
  /** Something has happened. */
  tell(): void
  /** Makes a change of the open file, which windows are told of once, with all that follows from it, and not half way. */
  around<T>(change: () => Promise<T>): Promise<T>
  /** Takes part until the returned function is called. Errors: TarelineError `too-many-windows`. */
  join(): () => void
  /** Settles once something may have happened, after `ms`, on the signal, or at the end. */
  wait(ms: number, signal: AbortSignal | undefined): Promise<void>
  readonly followers: number
  /** What several windows want to know of the same happening, by a name: read once for all, or once in `forMs`. */
  once<T>(name: string, read: () => Promise<T>, forMs?: number): Promise<T>
  /** From now on nobody is told anything: streams end by themselves. */
  end(): void
  readonly ended: boolean
}

/** look: a mark that is another one once the open file has been written to; undefined while none is open. */
export function openNewsDesk(look: () => string | undefined): NewsDesk {
  let happened = Promise.withResolvers<void>()
  let followers = 0
  let timer: NodeJS.Timeout | undefined
  let seen: string | undefined
  let ended = false
  /** What was read since something last happened. */
  const known = new Map<string, { readonly answer: Promise<unknown>; readonly until: number }>()
  let changes = 0
  const tell = () => {
    known.clear()
    happened.resolve()
    happened = Promise.withResolvers()
  }
  const lookNow = () => {
    if (changes > 0) return
    const now = look()
    if (now !== seen) tell()
    seen = now
  }
  const leaveFollowUps = onFollowUp(tell)
  return {
    tell,
    around: async (change) => {
      changes += 1
      try {
        const made = await change()
        seen = look()
        tell()
        return made
      } finally {
        changes -= 1
      }
    },
    join: () => {
      if (followers >= mostFollowers)
        throw new TarelineError(
          'too-many-windows',
          phrase('More than {mostFollowers} windows follow this file already.', { mostFollowers }),
        )
      followers += 1
      timer ??= setInterval(lookNow, lookEveryMs).unref()
      let isIn = true
      return () => {
        if (!isIn) return
        isIn = false
        followers -= 1
        if (followers > 0) return
        clearInterval(timer)
        timer = undefined
      }
    },
    wait: async (ms, signal) => {
      if (ended || signal?.aborted === true) return
      const over = Promise.withResolvers<void>()
      const patience = setTimeout(over.resolve, ms)
      const stop = () => over.resolve()
      signal?.addEventListener('abort', stop)
      await Promise.race([happened.promise, over.promise])
      clearTimeout(patience)
      // A stream waits thousands of times on the one signal.
      signal?.removeEventListener('abort', stop)
    },
    get followers() {
      return followers
    },
    once: (name, read, forMs = Number.POSITIVE_INFINITY) => {
      const now = performance.now()
      const before = known.get(name)
      if (before && now < before.until) return before.answer as ReturnType<typeof read>
      const answer = read()
      known.set(name, { answer, until: now + forMs })
      answer.catch(() => {
        if (known.get(name)?.answer === answer) known.delete(name)
      })
      return answer
    },
    end: () => {
      ended = true
      clearInterval(timer)
      leaveFollowUps()
      tell()
    },
    get ended() {
      return ended
    },
  }
}

export const readState = ({ fleet, demo, care, version }: Context): Promise<FileState> =>
  fleet.use(async (store, { file, lookedAt }) => ({
    ...(await readFileState(store.db)),
    ...(await standingOf(store)),
    file,
    demo: file === demo.file,
    version,
    lookedAt: lookedAt === null ? null : toStoredInstant(lookedAt),
    copyFailure: care.failure(file),
    careWarnings: [...care.warnings(file)],
  }))

const seenIn = ({ file, revision, renewals, madeOf }: FileState): Seen => ({ file, revision, renewals, madeOf })

/** What the record and its judgements went through between two states of the open file, the same for every window. */
const happenedSince = ({ fleet }: Context, since: Seen, { file, revision, renewals }: FileState) =>
  fleet.news.once(JSON.stringify([file, since.revision, since.renewals, revision, renewals]), () =>
    fleet.use(async (store) => {
      const { kinds, unitIds, whole } = await readSince(store, since)
      const rows = unitIds === null ? [] : listRoster(store, unitIds)
      const units = unitIds && rows.map(({ unit }) => unit)
      const changes = await listChangesSince(store, since.revision, mostChangesTold)
      return { kinds: [...kinds], whole, units, rows, counts: await countRoster(store), changes }
    }),
  )

/** What has happened since a state that a window saw. */
async function newsSince(context: Context, since: Seen | null): Promise<News> {
  const state = await context.fleet.news.once('state', () => readState(context), stateForMs)
  const present = context.fleet.presence.list()
  if (since === null || since.file !== state.file || since.revision > state.revision || since.renewals > state.renewals)
    return {
      state,
      since: null,
      kinds: [...touchKinds],
      judged: true,
      weighed: true,
      whole: true,
      units: null,
      rows: [],
      counts: null,
      changes: [],
      present,
    }
  const [judged, weighed] = state.madeOf.split(' ')
  const [judgedThen, weighedThen] = since.madeOf.split(' ')
  const moved = since.revision !== state.revision || since.renewals !== state.renewals
  const news = { state, since, present, judged: since.renewals !== state.renewals || judged !== judgedThen }
  const made = { ...news, weighed: weighed !== weighedThen }
  if (!moved) return { ...made, kinds: [], whole: false, units: [], rows: [], counts: null, changes: [] }
  return { ...made, ...(await happenedSince(context, since, state)) }
}

const isSameState = (a: FileState, b: FileState): boolean => JSON.stringify(a) === JSON.stringify(b)
const isSameList = (a: News['present'], b: News['present']): boolean => JSON.stringify(a) === JSON.stringify(b)

/**
 * The news of the open file, whichever that is, until the window leaves, the program ends or the seconds are over.
 * Errors: those of the file that cannot be worked on; TarelineError `too-many-windows`.
 */
export async function* followNews(
  { seen, seconds }: { readonly seen: Seen | null; readonly seconds: number },
  context: Context,
  signal: AbortSignal | undefined,
): AsyncGenerator<News, void, void> {
  const { news } = context.fleet
  const leave = news.join()
  const until = performance.now() + 1000 * seconds
  const goesOn = () => !news.ended && signal?.aborted !== true && performance.now() < until
  try {
    let told: News | undefined
    let beatAt = 0
    while (goesOn()) {
      const next = await newsSince(context, told ? seenIn(told.state) : seen)
      if (!goesOn()) return
      const isSame = told && isSameState(told.state, next.state) && isSameList(told.present, next.present)
      if (!isSame || performance.now() >= beatAt) {
        told = next
        beatAt = performance.now() + beatMs
        yield next
      }
      await news.wait(Math.max(0, Math.min(beatAt, until) - performance.now()), signal)
    }
  } finally {
    leave()
  }
}
