import { existsSync, readFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'
import { renderUnicodeCompact } from 'uqr'
import { openDoor } from '#core/door/door.ts'
import type { HouseFacts } from '#core/contracts/house.ts'
import { TarelineError } from '#core/words/problem.ts'
import { type Answer, type Command, type CommandInput, Parts, UsageError, dbOption } from '#electron/command/command.ts'
import { givenCertificates, houseFolder, ownCertificates } from '#electron/house/certificates.ts'
import { houseName } from '#electron/house/own-names.ts'
import { serveHouse } from '#electron/house/serve-house.ts'
import { serviceFile } from '#electron/house/service-file.ts'
import { giveAddresses } from '#electron/launch/loopback-window.ts'
import { listenForStop } from '#electron/launch/until-stopped.ts'
import { withSession } from '#electron/launch/with-session.ts'
import { serveLoopback } from '#electron/loopback/serve.ts'
import { programRoot } from '#electron/program-root.ts'

const usualPort = 8443

/** Sources are built first; the packed program comes built, and its bundle must not take the builder along. */
async function ensureBuilt(root: string): Promise<void> {
  const builder = join(root, 'electron/launch/bundles.ts')
  if (!existsSync(builder)) return
  const { ensureBundles } = (await import(pathToFileURL(builder).href)) as typeof import('#electron/launch/bundles.ts')
  await ensureBundles(root, (line) => process.stderr.write(`${line}\n`))
}

function readPort(input: CommandInput): number {
  const port = input.numberOr('port') ?? usualPort
  if (Number.isInteger(port) && port >= 1 && port <= 65535) return port
  throw new UsageError(`--port is "${port}"; a whole number from 1 to 65535 is accepted.`)
}

/** What stands on the screen of a house: how desks reach it, and what they compare before they trust it. */
export function houseText({ addresses: [first = '', ...others], authority, fingerprint, endsAt }: HouseFacts): string {
  return [
    `This fleet is served at ${first}`,
    ...(others.length > 0 ? [`also at ${others.join(', ')}`] : []),
    '',
    renderUnicodeCompact(first),
    '',
    ...(authority
      ? [
          `Each desk is told once to trust it: ${first}trust says how.`,
          `SHA-256 of the authority:   ${authority.fingerprint}`,
        ]
      : []),
    `SHA-256 of the certificate: ${fingerprint}`,
    `The certificate ends ${endsAt.slice(0, 'YYYY-MM-DD'.length)}${authority ? ' and is made anew before' : ''}.`,
  ].join('\n')
}

/** systemd keeps what a service says, for whoever may read its journal; a way in is nothing to be kept. */
const isKept = () => process.env['JOURNAL_STREAM'] !== undefined

interface Serving {
  readonly facts: HouseFacts
  /** The one-time address of the house machine's own window. */
  readonly ownWindow: string | null
}

/**
 * Serves until the program is told to end. `onServing` is told once desks can come; what it returns is waited for
 * before the end is.
 */
async function serve(input: CommandInput, onServing: (serving: Serving) => void): Promise<void> {
  const stopped = listenForStop()
  const root = programRoot()
  const [name, port, db] = [houseName(input.textOr('name')), readPort(input), resolve(input.text('db'))]
  const given = input.textOr('certificates')
  const certificates = given === undefined ? ownCertificates(houseFolder(db)) : givenCertificates(resolve(given))
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string }
  await ensureBuilt(root)
  const say = (line: string) => process.stderr.write(`${line}\n`)
  await withSession({ window: 'house', root, version, startWithDemo: false, db }, async (context, folders) => {
    const people = await openDoor(db)
    try {
      const house = await serveHouse({ context, folders, people, certificates, name, port, warn: say })
      try {
        const own = await serveLoopback(house.context, folders)
        const noMoreAddresses = giveAddresses(own, say)
        onServing({ facts: house.facts(), ownWindow: isKept() ? null : own.address })
        await stopped
        noMoreAddresses()
        await own.close()
      } finally {
        await house.close()
      }
    } finally {
      await people.close()
    }
  })
}

async function runHouse(input: CommandInput): Promise<Answer> {
  if (input.flag('service')) {
    const text = serviceFile(programRoot(), resolve(input.text('db')), {
      port: readPort(input),
      name: input.textOr('name'),
      certificates: input.textOr('certificates'),
    })
    return { document: { service: text }, text }
  }
  const begun = Promise.withResolvers<Serving>()
  const ended = serve(input, begun.resolve)
  const serving = await Promise.race([
    begun.promise,
    ended.then(() => {
      throw new TarelineError('ended', 'Tareline was told to end before it served anybody.')
    }),
  ])
  const untilEnd = (text: string) =>
    new Parts(async function* () {
      yield `${text}\n`
      await ended
    })
  const own = serving.ownWindow
  return {
    document: untilEnd(JSON.stringify({ ...serving.facts, own_window: own }, null, 2)),
    text: untilEnd(
      `${houseText(serving.facts)}\n\n${
        own === null
          ? ''
          : `The window of this machine itself, which may do everything: ${own}\nThis address opens once; press Enter for another one. `
      }Ctrl-C ends.`,
    ),
  }
}

/** One machine of a fleet serves all its desks. */
export const houseCommand: Command = {
  name: 'house',
  summary: 'Serve a fleet file to the desks of the fleet over HTTPS, until it is told to end.',
  arguments: [],
  options: {
    db: dbOption,
    port: { type: 'string', value: 'N', about: `port that desks ask, 1 to 65535 (${usualPort} where it is left out)` },
    name: { type: 'string', value: 'NAME', about: 'name of this machine on the network, where it has another one' },
    certificates: {
      type: 'string',
      value: 'FOLDER',
      about: 'folder with the fleet’s own certificate and key, in place of an authority of the house’s own',
    },
    service: { type: 'boolean', about: 'print a service file for systemd that does the same, and end' },
  },
  run: runHouse,
}
