import { createInterface } from 'node:readline'
import { sharingFrom } from '#electron/house/sharing.ts'
import { openAppWindow } from '#electron/launch/browser.ts'
import { listenForStop } from '#electron/launch/until-stopped.ts'
import { withSession } from '#electron/launch/with-session.ts'
import { type Loopback, serveLoopback } from '#electron/loopback/serve.ts'
import type { StartOptions } from '#electron/options.ts'

/** Says another one-time address whenever Enter is pressed where the program was started; the answer ends that. */
export function giveAddresses({ newAddress }: Pick<Loopback, 'newAddress'>, say: (line: string) => void): () => void {
  if (!process.stdin.isTTY) return () => {}
  const lines = createInterface({ input: process.stdin })
  lines.on('line', () => say(`${newAddress()}\nThis address opens once, on this machine.`))
  return () => lines.close()
}

export interface Start {
  readonly options: StartOptions
  /** The folder of the app: its build is under dist/, the demo fleet under demo-data/fleet. */
  readonly root: string
  readonly version: string
  readonly say: (line: string) => void
}

/** Serves the app on this machine and opens it in the installed browser; ends with that window, or with Ctrl-C. */
export async function startLoopback({ options, root, version, say }: Start): Promise<void> {
  const stopped = listenForStop()
  const { demo, db, port } = options
  await withSession({ window: 'loopback', root, version, startWithDemo: demo, db }, async (context, folders) => {
    const sharing = sharingFrom(context, folders)
    const loopback = await serveLoopback(sharing.context, folders, port)
    try {
      const window = options.window ? await openAppWindow(loopback.address) : undefined
      if (window?.opened === false) say(window.why)
      if (window?.opened === true)
        say(`Tareline is open in ${window.browser}. Close its window or press Ctrl-C to end.`)
      else
        say(
          `Tareline is at ${loopback.address}\nThis address opens once, on this machine. ` +
            'Press Enter for another one, Ctrl-C to end.',
        )
      const noMoreAddresses = giveAddresses(loopback, say)
      await (window?.opened === true ? Promise.race([stopped, window.closed]) : stopped)
      noMoreAddresses()
      if (window?.opened === true) await window.close()
    } finally {
      await sharing.end()
      await loopback.close()
    }
  })
}
