import type { MessagePortMain, utilityProcess } from 'electron/main'
import { TarelineError } from '#core/words/problem.ts'

/** What the main process tells the service when it starts it, as JSON in its first argument. */
export interface ServiceStart {
  readonly version: string
  readonly db?: string
  readonly startWithDemo: boolean
  readonly fleetFolder: string
  readonly inboxRoot: string
}

/**
 * What the service tells the main process: it can take ports, or it cannot, with the sentence to show; or a later file
 * cannot be opened.
 */
export type ServiceNews =
  | { readonly news: 'ready' }
  | { readonly news: 'refused'; readonly sentence: string }
  | { readonly news: 'not-opened'; readonly sentence: string }
  /** A window wants a folder picked; the answer names the question. */
  | { readonly news: 'pick-folder'; readonly question: number; readonly startAt: string | null }

/**
 * What the main process tells the service: here is a window's port, open this fleet file (its full path), this folder
 * was picked (null: none), or end in good order.
 */
export type ServiceOrder =
  | 'port'
  | 'end'
  | { readonly open: string }
  | { readonly question: number; readonly picked: string | null }

export interface Service {
  /** Gives a window's port to the service, which answers the procedures on it. */
  readonly give: (port: MessagePortMain) => void
  /** Has the service open another fleet file, by its full path, in place of the present one. */
  readonly open: (file: string) => void
  readonly end: () => void
  /** Resolves when the process has ended, for whatever reason. */
  readonly ended: Promise<void>
}

interface Listener {
  /** Told the sentence to show when a file given to `open` cannot be opened; the present one stays open. */
  readonly onNotOpened: (sentence: string) => void
  /** Shows the system's own window for picking a folder; null where none was picked. */
  readonly pickFolder: (startAt: string | null) => Promise<string | null>
}

/**
 * Starts the core in its own process and waits until the fleet file is open. Errors: TarelineError `service`, with the
 * sentence to show.
 */
export async function startService(
  { fork }: Pick<typeof utilityProcess, 'fork'>,
  file: string,
  start: ServiceStart,
  { onNotOpened, pickFolder }: Listener,
): Promise<Service> {
  const child = fork(file, [JSON.stringify(start)], { serviceName: 'Tareline core', stdio: 'inherit' })
  const order = (what: ServiceOrder, ports: MessagePortMain[] = []) => child.postMessage(what, ports)
  const ended = new Promise<void>((resolve) => {
    child.once('exit', () => resolve())
  })
  const news = await new Promise<ServiceNews>((resolve) => {
    child.once('message', resolve)
    void ended.then(() =>
      resolve({ news: 'refused', sentence: 'The part of Tareline that keeps the fleet file did not start.' }),
    )
  })
  if (news.news === 'refused') {
    child.kill()
    throw new TarelineError('service', news.sentence)
  }
  child.on('message', (later: ServiceNews) => {
    if (later.news === 'not-opened') onNotOpened(later.sentence)
    if (later.news === 'pick-folder') {
      const answer = (picked: string | null) => order({ question: later.question, picked })
      pickFolder(later.startAt).then(answer, () => answer(null))
    }
  })
  return {
    give: (port) => order('port', [port]),
    open: (path) => order({ open: path }),
    end: () => order('end'),
    ended,
  }
}
