import { createHash } from 'node:crypto'
import { existsSync } from 'node:fs'
import { readFile, readdir, rename, rm, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import type { DemoFile } from '#core/api/context.ts'
import { bringInFolder } from '#core/jobs/in-thread.ts'
import { TarelineError } from '#core/words/problem.ts'
import { userFolder } from '#electron/session.ts'

/** Names the content of a folder: another text whenever a file of it has changed, come or gone. */
async function fingerprint(folder: string): Promise<string> {
  const hash = createHash('sha256')
  for (const name of (await readdir(folder)).toSorted()) {
    const bytes = await readFile(join(folder, name))
    hash.update(`${name} ${bytes.byteLength}\n`).update(bytes)
  }
  return hash.digest('hex')
}

const removeDatabase = async (file: string) => {
  for (const ending of ['', '-wal', '-shm']) await rm(file + ending, { force: true })
}

async function make(file: string, fleetFolder: string): Promise<void> {
  const unfinished = `${file}.${process.pid}.unfinished`
  await removeDatabase(unfinished)
  try {
    const outcome = await bringInFolder(unfinished, fleetFolder, {})
    if (outcome.outcome === 'refused')
      throw new Error(`the demo fleet was refused: ${JSON.stringify(outcome.problems.slice(0, 3))}`)
    await removeDatabase(file)
    await rename(unfinished, file)
  } finally {
    await removeDatabase(unfinished)
  }
}

/** The demo fleet's database in the user's own data folder, made from the fleet folder that comes with the app. */
export function demoFile(fleetFolder: string, home = userFolder()): DemoFile {
  const file = join(home, 'demo.tareline')
  const mark = join(home, 'demo.sha256')
  let preparing: Promise<void> | undefined

  const prepare = async () => {
    if (!existsSync(fleetFolder))
      throw new TarelineError('no-demo', 'The demo fleet is not part of this copy of Tareline.')
    const wanted = await fingerprint(fleetFolder)
    const made = existsSync(file) ? await readFile(mark, 'utf8').catch(() => '') : ''
    if (made === wanted) return
    await make(file, fleetFolder)
    await writeFile(mark, wanted)
  }

  // Two windows that ask at the same time wait for the same file.
  return {
    file,
    prepare: () =>
      (preparing ??= prepare().finally(() => {
        preparing = undefined
      })),
  }
}
