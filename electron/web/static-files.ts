import { readFile, realpath } from 'node:fs/promises'
import { extname, join, sep } from 'node:path'
import { codeOf } from '#core/words/problem.ts'
import { commonHeaders, noContent, sentenceAnswer, withPolicy, workerPolicy } from '#electron/web/content-policy.ts'

const contentTypes: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.ttf': 'font/ttf',
  '.wasm': 'application/wasm',
  '.webmanifest': 'application/manifest+json',
  '.txt': 'text/plain; charset=utf-8',
}

/** A worker keeps the policy that its own file comes with, not its page's. */
const workerPath = '/service-worker.js'

/** The build gives a file under assets/ a new name whenever its content changes. */
const cacheFor = (path: string) => (path.startsWith('/assets/') ? 'private, max-age=31536000, immutable' : 'no-cache')

const notFound = () => sentenceAnswer(404, 'There is no such page.')

const isMissing = (error: unknown) =>
  ['ENOENT', 'ENOTDIR', 'EISDIR', 'ENAMETOOLONG', 'EACCES'].includes(codeOf(error) ?? '')

/**
 * The path a request may name inside the folder: decoded once, without dots, backslashes, drives or control characters.
 */
function plainPath(pathname: string): string | undefined {
  let path: string
  try {
    path = decodeURIComponent(pathname)
  } catch {
    return undefined
  }
  const fits = /^(?:\/[\w@+-][\w@+.-]*)+$/.test(path) && !path.includes('..')
  return fits ? path : undefined
}

async function answerPage(folder: string, head: boolean): Promise<Response> {
  const { page, policy } = withPolicy(await readFile(join(folder, 'index.html'), 'utf8'))
  const headers = {
    ...commonHeaders,
    'content-type': 'text/html; charset=utf-8',
    'cache-control': 'no-store',
    'content-security-policy': policy,
  }
  return new Response(head ? null : page, { headers })
}

async function answerFile(folder: string, path: string, head: boolean): Promise<Response> {
  const root = await realpath(folder)
  // The real path is compared, so that a link inside the folder cannot lead out of it.
  const file = await realpath(join(root, path))
  const contentType = contentTypes[extname(file)]
  if (!file.startsWith(root + sep) || !contentType) return notFound()
  const bytes = await readFile(file)
  const headers = {
    ...commonHeaders,
    'content-type': contentType,
    'content-length': String(bytes.byteLength),
    'cache-control': cacheFor(path),
    'content-security-policy': path === workerPath ? workerPolicy : noContent,
  }
  return new Response(head ? null : bytes, { headers })
}

/**
 * Serves the built screens from `folder` and nothing outside it. Screens are told apart after the `#`, so there is one
 * page.
 */
export async function serveStatic(folder: string, request: Request): Promise<Response> {
  const head = request.method === 'HEAD'
  if (!head && request.method !== 'GET') return sentenceAnswer(405, 'This address can only be read.')
  const { pathname } = new URL(request.url)
  try {
    if (pathname === '/' || pathname === '/index.html') return await answerPage(folder, head)
    const path = plainPath(pathname)
    return path ? await answerFile(folder, path, head) : notFound()
  } catch (error) {
    if (isMissing(error)) return notFound()
    throw error
  }
}
