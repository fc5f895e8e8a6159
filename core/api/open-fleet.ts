import { resolve } from 'node:path'
import { openStore, type Store } from '#core/store/open.ts'

/** A store that stays open until it is given back. */
export interface Lease {
  readonly store: Store
  giveBack(): void
}

/** The one fleet file the window works on; it can be changed for another while questions are still being answered. */
export interface OpenFleet {
  /** Asks the open file, which is not closed before it has answered, though another may be opened meanwhile. */
  use<T>(question: (store: Store) => Promise<T>): Promise<T>
  /** The same for work that lasts, as a stream does: the file stays open until `giveBack` is called. */
  lease(): Lease
  /** Opens another file, made where there is none. When it cannot be opened the present one stays and the error is thrown. */
  open(file: string): Promise<void>
  /** Waits until the last question to every file has been answered and all are closed. */
  close(): Promise<void>
}

interface Held {
  readonly store: Store
  leases: number
  retired: boolean
  readonly closed: PromiseWithResolvers<void>
}

const hold = (store: Store): Held => ({ store, leases: 0, retired: false, closed: Promise.withResolvers<void>() })

function closeIfIdle(held: Held): void {
  if (!held.retired || held.leases > 0) return
  held.store.close().then(held.closed.resolve, held.closed.reject)
}

function retire(held: Held): Promise<void> {
  if (!held.retired) {
    held.retired = true
    closeIfIdle(held)
  }
  return held.closed.promise
}

/** Opens the first file. Errors: those of `openStore`. */
export async function openFleet(file: string): Promise<OpenFleet> {
  let current = hold(await openStore(file))
  let switching: Promise<unknown> = Promise.resolve()
  const closing = new Set<Promise<void>>()

  const lease = (): Lease => {
    const held = current
    held.leases += 1
    let given = false
    return {
      store: held.store,
      giveBack: () => {
        if (given) return
        given = true
        held.leases -= 1
        closeIfIdle(held)
      },
    }
  }

  const change = async (next: string): Promise<void> => {
    if (resolve(next) === current.store.file) return
    const opened = hold(await openStore(next))
    const closed = retire(current)
    current = opened
    closing.add(closed)
    closed.then(() => closing.delete(closed), () => undefined)
  }

  return {
    lease,
    use: async (question) => {
      const { store, giveBack } = lease()
      try {
        return await question(store)
      } finally {
        giveBack()
      }
    },
    open: (next) => {
      const turn = switching.then(() => change(next))
      switching = turn.catch(() => undefined)
      return turn
    },
    close: async () => {
      await switching
      await Promise.all([...closing, retire(current)])
    },
  }
}
