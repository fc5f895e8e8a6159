import type { Context } from '#core/api/context.ts'
import type { Door } from '#core/door/door.ts'
import { phrase } from '#core/words/phrase.ts'
import { TarelineError } from '#core/words/problem.ts'
import { houseName } from '#electron/house/own-names.ts'
import type { RunningHouse } from '#electron/house/serve-house.ts'
import type { WebFolders } from '#electron/web/web.ts'

export interface SharingWindow {
  /** What the own window's procedures reach: a house among it for as long as one is served. */
  readonly context: Context
  /** Ends what is served, if anything is. */
  end(): Promise<void>
}

/** What a house is made of, fetched once one is: an app that works alone starts without it. */
const parts = async () => ({
  ...(await import('#core/door/door.ts')),
  ...(await import('#electron/house/certificates.ts')),
  ...(await import('#electron/house/serve-house.ts')),
})

/** Lets the window of a running app serve its fleet file to other desks, until it is told to stop or ends. */
export function sharingFrom(alone: Context, folders: WebFolders): SharingWindow {
  let served: { readonly house: RunningHouse; readonly people: Door } | undefined
  let turns: Promise<unknown> = Promise.resolve()
  const inTurn = <T>(work: () => Promise<T>): Promise<T> => {
    const turn = turns.then(work)
    turns = turn.catch(() => undefined)
    return turn
  }
  const end = async () => {
    if (!served) return
    const { house, people } = served
    served = undefined
    await house.close({ othersFollow: true })
    await people.close()
  }
  const start = async ({ name, port }: { readonly name: string | null; readonly port: number }) => {
    if (served) throw new TarelineError('shared', phrase('This fleet is shared already.'))
    const called = houseName(name ?? undefined)
    const { lookedAt, file } = await alone.fleet.use(async (_, opened) => opened)
    if (lookedAt !== null) throw new TarelineError('look-only', phrase('A file that is only looked at is not shared.'))
    const { openDoor, houseFolder, ownCertificates, serveHouse } = await parts()
    const people = await openDoor(file)
    try {
      const certificates = ownCertificates(houseFolder(file))
      served = {
        people,
        house: await serveHouse({ context: alone, folders, people, certificates, name: called, port }),
      }
    } catch (error) {
      await people.close()
      throw error
    }
  }
  const sharing = { start: (how: Parameters<typeof start>[0]) => inTurn(() => start(how)), stop: () => inTurn(end) }
  return {
    context: {
      ...alone,
      sharing,
      // Asked anew at each call.
      get house() {
        return served && { facts: served.house.facts }
      },
      get door() {
        return served?.people
      },
    },
    end: () => inTurn(end),
  }
}
