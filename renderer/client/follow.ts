import type { News } from '#core/contracts/file.ts'
import { client, inDesktopWindow } from '#renderer/client/api.ts'
import { makeListeners } from '#renderer/client/listeners.ts'
import { seenUpTo, setTold, takeNews } from '#renderer/client/news.ts'

/** A stream is begun anew after so long, from what was seen last. */
const streamSeconds = 600
/** Nothing was heard for so long: the stream is cut, and the window asks as it did before. */
const silentMs = 10_000
/** Before a stream that was cut is tried again. */
const pauseMs = 2000

const listeners = makeListeners()
let isHeard = false
let silence: ReturnType<typeof setTimeout> | undefined

function say(heard: boolean): void {
  clearTimeout(silence)
  silence = heard ? setTimeout(() => say(false), silentMs) : undefined
  if (isHeard === heard) return
  isHeard = heard
  setTold(heard)
  listeners.tell()
}

/** Whether this window is told of what happens to the file; for `useSyncExternalStore`. */
export const told = {
  subscribe: listeners.subscribe,
  now: () => isHeard,
}

function hear(news: News): void {
  say(true)
  takeNews(news)
}

const pause = (ms: number, signal: AbortSignal): Promise<void> =>
  new Promise((resolve) => {
    const timer = setTimeout(resolve, ms)
    signal.addEventListener('abort', () => {
      clearTimeout(timer)
      resolve()
    })
  })

/** Follows the file until the signal, through every cut; onCut is told of each. */
async function stream(onNews: (news: News) => void, onCut: () => void, signal: AbortSignal): Promise<void> {
  while (!signal.aborted) {
    const begun = performance.now()
    try {
      const followed = await client.file.follow({ seen: seenUpTo(), seconds: streamSeconds }, { signal })
      for await (const news of followed) onNews(news)
    } catch {
      // The question that the window then asks tells what is wrong.
      if (!signal.aborted) onCut()
    }
    if (performance.now() - begun < pauseMs) await pause(pauseMs, signal)
  }
}

const name = 'tareline-news'
type Shared = { readonly news: News } | { readonly cut: true }

/**
 * A browser has six connections to the app for all of its windows, so that one of them follows the file and passes on
 * what it is told. When it is closed, the next takes over.
 */
function shareStream(signal: AbortSignal): void {
  const channel = new BroadcastChannel(name)
  const pass = (shared: Shared) => {
    channel.postMessage(shared)
    take(shared)
  }
  const take = (shared: Shared) => {
    if ('news' in shared) hear(shared.news)
    else say(false)
  }
  channel.addEventListener('message', ({ data }: MessageEvent<Shared>) => take(data))
  signal.addEventListener('abort', () => channel.close())
  navigator.locks
    .request(name, { signal }, () =>
      stream(
        (news) => pass({ news }),
        () => pass({ cut: true }),
        signal,
      ),
    )
    // Only the signal ends the wait for one's turn.
    .catch(() => undefined)
}

/** Has this window told of what happens to the open file; returns how to end it. */
export function followNews(): () => void {
  const leave = new AbortController()
  if (inDesktopWindow()) void stream(hear, () => say(false), leave.signal)
  else if ('locks' in navigator && 'BroadcastChannel' in window) shareStream(leave.signal)
  return () => {
    leave.abort()
    say(false)
  }
}
