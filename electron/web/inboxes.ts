import { phrase } from '#core/words/phrase.ts'
import { createWriteStream, rmSync } from 'node:fs'
import { mkdir, readdir, rename, rm, stat } from 'node:fs/promises'
import { join } from 'node:path'
import { Readable, Transform } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import type { Inboxes } from '#core/api/context.ts'
import { allFolderFiles } from '#core/exchange/folder-files.ts'
import { foreignFile } from '#core/foreign/mapping/mapping.ts'
import { attachmentsFolderName, isAttachmentFile, mostAttachmentBytes, sizeText } from '#core/words/attachment-file.ts'
import { TarelineError } from '#core/words/problem.ts'
import { sentenceAnswer } from '#electron/web/content-policy.ts'

const inboxName = /^[a-z0-9-]{8,64}$/
const fleetFiles: ReadonlySet<string> = new Set([...Object.values(allFolderFiles).map(({ file }) => file), foreignFile])

const gigabyte = 1024 ** 3
const mostInboxes = 16

/** Bytes of the inboxes by their folders: counted once, since a folder may have thousands of attachments. */
const taken = new Map<string, number>()

/** Deletes all inboxes; safe to call more than once and while the process ends. */
export const removeInboxRoot = (root: string): void => rmSync(root, { recursive: true, force: true })

const isThere = (path: string) =>
  stat(path).then(
    () => true,
    () => false,
  )

/** The inboxes under `root`, as the procedures see them. */
export function inboxesIn(root: string): Inboxes {
  return {
    folderOf: async (inbox) => {
      const folder = join(root, inbox)
      if (!inboxName.test(inbox) || !(await isThere(folder)))
        throw new TarelineError('no-inbox', phrase('The picked files are no longer here. Choose them again.'))
      return folder
    },
    remove: async (inbox) => {
      if (!inboxName.test(inbox)) return
      await rm(join(root, inbox), { recursive: true, force: true })
      taken.delete(join(root, inbox))
    },
  }
}

class TooLarge extends Error {}

/** Lets at most `limit` bytes through. */
function bounded(limit: number): Transform {
  let seen = 0
  return new Transform({
    transform(chunk: Uint8Array, _encoding, done) {
      seen += chunk.byteLength
      if (seen > limit) done(new TooLarge())
      else done(null, chunk)
    },
  })
}

async function bytesIn(folder: string): Promise<number> {
  const entries = (await readdir(folder, { withFileTypes: true, recursive: true })).filter((entry) => entry.isFile())
  const sizes = await Promise.all(
    entries.map(async ({ parentPath, name }) => (await stat(join(parentPath, name))).size),
  )
  return sizes.reduce((sum, size) => sum + size, 0)
}

async function store(
  root: string,
  inbox: string,
  file: string,
  request: Request,
  limitBytes: number,
): Promise<Response> {
  const isAttachment = file.startsWith(`${attachmentsFolderName}/`)
  const tooLarge = () =>
    sentenceAnswer(
      413,
      isAttachment && mostAttachmentBytes < limitBytes
        ? phrase(
            '{file} is too large: an attachment may have {size}, and the files of one import {most, number, ::.0} GB together.',
            { file, size: sizeText(mostAttachmentBytes), most: limitBytes / gigabyte },
          )
        : phrase('{file} is too large: the files of one import may have {most, number, ::.0} GB together.', {
            file,
            most: limitBytes / gigabyte,
          }),
    )
  const folder = join(root, inbox)
  const others = await readdir(root)
  if (!others.includes(inbox) && others.length >= mostInboxes)
    return sentenceAnswer(
      429,
      phrase('Too many imports are waiting. Finish or close one, then choose the folder again.'),
    )
  await mkdir(isAttachment ? join(folder, attachmentsFolderName) : folder, { recursive: true, mode: 0o700 })
  const before = others.includes(inbox) ? (taken.get(folder) ?? (await bytesIn(folder))) : 0
  const left = Math.min(limitBytes - before, isAttachment ? mostAttachmentBytes : limitBytes)
  if (Number(request.headers.get('content-length') ?? 0) > left) return tooLarge()
  const unfinished = join(folder, `${file}.unfinished`)
  try {
    const body = request.body
      ? Readable.fromWeb(request.body as import('node:stream/web').ReadableStream)
      : Readable.from([])
    await pipeline(body, bounded(left), createWriteStream(unfinished, { mode: 0o600 }))
    const { size } = await stat(unfinished)
    await rename(unfinished, join(folder, file))
    taken.set(folder, (taken.get(folder) ?? before) + size)
  } catch (error) {
    await rm(unfinished, { force: true })
    if (error instanceof TooLarge) return tooLarge()
    throw error
  }
  return new Response(null, { status: 204 })
}

/** An attachment's path within its inbox, from the last part of an address; undefined where that is no name of one. */
function attachmentPath(part: string): string | undefined {
  try {
    const name = decodeURIComponent(part)
    return isAttachmentFile(name) ? `${attachmentsFolderName}/${name}` : undefined
  } catch (error) {
    if (error instanceof URIError) return undefined
    throw error
  }
}

/**
 * Takes files picked in the window: `PUT /inbox/INBOX/FILE` stores one file of a fleet folder, or a foreign one under
 * its one name, `PUT /inbox/INBOX/attachments/FILE` one attachment, `DELETE /inbox/INBOX` forgets them. The files of
 * one inbox have at most `limitBytes` together.
 */
export async function serveInbox(root: string, request: Request, limitBytes = 2 * gigabyte): Promise<Response> {
  const [, , inbox = '', ...parts] = new URL(request.url).pathname.split('/')
  const [file] = parts
  if (!inboxName.test(inbox) || parts.length > (file === attachmentsFolderName ? 2 : 1))
    return sentenceAnswer(404, phrase('There is no such inbox.'))
  if (request.method === 'DELETE' && file === undefined) {
    await inboxesIn(root).remove(inbox)
    return new Response(null, { status: 204 })
  }
  if (request.method !== 'PUT' || file === undefined) return sentenceAnswer(405, phrase('An inbox only takes files.'))
  const path = parts.length === 2 ? attachmentPath(parts[1] ?? '') : fleetFiles.has(file) ? file : undefined
  if (path === undefined)
    return sentenceAnswer(
      404,
      phrase('{file} is not a file of a fleet folder.', { file: parts.join('/').slice(0, 60) }),
    )
  return await store(root, inbox, path, request, limitBytes)
}
