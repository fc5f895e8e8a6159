import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { mkdir } from 'node:fs/promises'
import { request } from 'node:http'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Context } from '#core/api/context.ts'
import { careForFile } from '#core/api/file-care.ts'
import type { Log, LogEvent } from '#core/api/note-call.ts'
import { openFleet } from '#core/api/open-fleet.ts'
import { makeRunFolder } from '#core/store/run-folder.ts'
import { TarelineError } from '#core/words/problem.ts'
import { faultFacts } from '#electron/log/log.ts'
import { type RequestLimits, usualLimits } from '#electron/web/limits.ts'
import { type Loopback, serveLoopback } from '#electron/loopback/serve.ts'
import { inboxesIn, removeInboxRoot } from '#electron/web/inboxes.ts'
import { placesIn } from '#tests/fleet/places.ts'
import { type Admission, enterAt } from '#tests/loopback/admission.ts'

export interface RunningApp extends AsyncDisposable {
  readonly folder: string
  readonly inboxRoot: string
  readonly context: Context
  readonly loopback: Loopback
  /** `http://127.0.0.1:PORT`. */
  readonly origin: string
  /** What the app reported as its own faults. */
  readonly reported: unknown[]
  readonly logged: LogEvent[]
}

/** The real server on a real file in a folder of its own; the screens are a small page with an asset. */
export async function runApp({ limits = usualLimits }: { limits?: RequestLimits } = {}): Promise<RunningApp> {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-test-'))
  const renderer = join(folder, 'renderer')
  await mkdir(join(renderer, 'assets'), { recursive: true })
  writeFileSync(
    join(renderer, 'index.html'),
    '<!doctype html><script type="module" nonce="__NONCE__" src="/assets/app-1.js"></script>',
  )
  writeFileSync(join(renderer, 'assets/app-1.js'), 'document.title = "Tareline"')
  writeFileSync(join(folder, 'secret.txt'), 'not for the window')
  const inboxRoot = makeRunFolder('inbox')
  const reported: unknown[] = []
  const demo = {
    file: join(folder, 'demo.tareline'),
    from: join(folder, 'demo'),
    prepare: async () => {
      throw new TarelineError('no-demo', 'There is no demo fleet here.')
    },
  }
  const logged: LogEvent[] = []
  const log: Log = {
    folder: join(folder, 'log'),
    write: (event) => {
      logged.push(event)
    },
    fault: (error) => {
      logged.push({ what: 'fault', ...faultFacts(error) })
    },
    read: () => [],
  }
  const report = (error: unknown) => {
    reported.push(error)
  }
  const care = careForFile({ report, placesFile: join(folder, 'second-places.json') })
  const fleet = await openFleet(join(folder, 'fleet.tareline'), { report, onOpen: care.opened })
  const context: Context = {
    version: '0.0.0',
    fleet,
    care,
    demo,
    inboxes: inboxesIn(inboxRoot),
    places: placesIn(folder),
    log,
    report,
  }
  const loopback = await serveLoopback(context, { renderer, inboxRoot }, 0, limits)
  return {
    folder,
    inboxRoot,
    context,
    loopback,
    reported,
    logged,
    origin: new URL(loopback.address).origin,
    [Symbol.asyncDispose]: async () => {
      care.end()
      await loopback.close()
      await fleet.close()
      removeInboxRoot(inboxRoot)
      // A day's copy that had begun may still be writing.
      rmSync(folder, { recursive: true, force: true, maxRetries: 20, retryDelay: 200 })
    },
  }
}

export interface Answer {
  readonly status: number
  readonly headers: Record<string, string | string[] | undefined>
  readonly text: string
}

interface Ask {
  readonly method?: string
  readonly headers?: Record<string, string>
  readonly body?: string | Buffer
}

/** One HTTP exchange with the path sent as it is written: no client tidies `..` or sets headers of its own. */
export function ask(origin: string, path: string, { method = 'GET', headers = {}, body }: Ask = {}): Promise<Answer> {
  const { hostname, port } = new URL(origin)
  return new Promise((resolve, reject) => {
    const sent = request({ hostname, port, path, method, headers, agent: false }, (response) => {
      let text = ''
      response.setEncoding('utf8')
      response.on('data', (part: string) => {
        text += part
      })
      response.on('end', () => resolve({ status: response.statusCode ?? 0, headers: response.headers, text }))
    })
    sent.on('error', reject)
    sent.end(body)
  })
}

export const enter = ({ loopback }: RunningApp): Promise<Admission> => enterAt(loopback.address)
