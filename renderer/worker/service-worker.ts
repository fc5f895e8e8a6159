/*
 * Keeps the app's own files, so that a phone can open it where the house cannot be reached. It sees no call of a
 * procedure and keeps nothing of the record: the paths that it answers are those of the build and no others.
 */
const worker = self as unknown as ServiceWorkerGlobalScope

/** Put in by the build: the files of the app by their paths, and a mark that is another one for other files. */
declare const __SHELL_FILES__: readonly string[]
declare const __SHELL_MARK__: string

const page = '/'
const files: ReadonlySet<string> = new Set(__SHELL_FILES__)
const family = 'tareline-shell'
const own = `${family} ${__SHELL_MARK__}`
/** A house that has not sent its page by then is as good as none. */
const patienceMs = 4000

worker.addEventListener('install', (event) => {
  event.waitUntil(caches.open(own).then((cache) => cache.addAll([page, ...files])))
})

worker.addEventListener('activate', (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) =>
        Promise.all(names.filter((name) => name.startsWith(family) && name !== own).map((name) => caches.delete(name))),
      )
      // The page that brought the worker needs the files of its other screens without the house, too.
      .then(() => worker.clients.claim()),
  )
})

/** The page of the house, which may be a newer one; the kept one where it does not come. */
async function openPage(request: Request): Promise<Response> {
  try {
    return await fetch(request, { signal: AbortSignal.timeout(patienceMs) })
  } catch (error) {
    const kept = await (await caches.open(own)).match(page)
    if (!kept) throw error
    return kept
  }
}

const openFile = async (request: Request, path: string): Promise<Response> =>
  (await (await caches.open(own)).match(path)) ?? (await fetch(request))

worker.addEventListener('fetch', (event) => {
  const { request } = event
  const { origin, pathname } = new URL(request.url)
  if (request.method !== 'GET' || origin !== worker.location.origin) return
  if (pathname === page && request.mode === 'navigate') event.respondWith(openPage(request))
  else if (files.has(pathname)) event.respondWith(openFile(request, pathname))
})
