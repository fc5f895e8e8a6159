import type { WebRequest } from '#electron/web/door.ts'

/** How much one caller may ask of a window that is served over HTTP before it is turned away. */
export interface RequestLimits {
  /** Body of one call; picked files have their own, see the inboxes. */
  readonly callBytes: number
  /** Body of a call that carries a picked file, with what its form adds. */
  readonly uploadBytes: number
  /** Head of a request, with all the cookies that neighbors on other ports may have set. */
  readonly headerBytes: number
  /** For the head of a request. */
  readonly headersMs: number
  /** Within each such span a body must grow by `bodyBytes`, or end. */
  readonly bodyMs: number
  readonly bodyBytes: number
  /** For a whole request, however steadily it comes. */
  readonly requestMs: number
  readonly connections: number
  /** Of those, how many may have sent no request yet; of more the oldest is let go. */
  readonly muteConnections: number
  /** How often the server looks for requests that are late. */
  readonly lookMs: number
}

export const usualLimits: RequestLimits = {
  callBytes: 4 * 1024 ** 2,
  uploadBytes: 21 * 1024 ** 2,
  headerBytes: 1024 ** 2,
  headersMs: 10_000,
  bodyMs: 10_000,
  bodyBytes: 1024,
  requestMs: 600_000,
  connections: 256,
  muteConnections: 32,
  lookMs: 5000,
}

/**
 * Counts what has come in of a request, so that whoever reads its body is not disturbed: on the socket, or, where many
 * requests share one, on the request's own stream. Undefined while nobody reads that.
 */
function countReceived(request: WebRequest): () => number | undefined {
  if (!('stream' in request)) return () => request.socket.bytesRead
  let received: number | undefined
  const { stream } = request
  // A listener of our own would have the stream flow before its reader is there: it joins when the reader does.
  stream.on('newListener', (event) => {
    if (event !== 'data' || received !== undefined) return
    received = 0
    stream.on('data', (part: Uint8Array) => {
      received = (received ?? 0) + part.byteLength
    })
  })
  return () => received
}

/**
 * Calls `late` once when the body of a request comes in more slowly than the limits allow, as from a caller who means
 * to keep the connection.
 */
export function watchBody(
  request: WebRequest,
  { bodyMs, bodyBytes, requestMs }: Pick<RequestLimits, 'bodyMs' | 'bodyBytes' | 'requestMs'>,
  late: () => void,
): void {
  const received = countReceived(request)
  const until = performance.now() + requestMs
  let seen = received()
  const timer = setInterval(() => {
    if (request.complete || request.destroyed) return clearInterval(timer)
    const now = received()
    // A body that nobody reads yet stops at the window's own edge, which is no fault of the caller.
    if (now === undefined || request.readableLength >= request.readableHighWaterMark) return
    if (now - (seen ?? 0) < bodyBytes || performance.now() > until) {
      clearInterval(timer)
      late()
    }
    seen = now
  }, bodyMs)
  timer.unref()
  request.once('close', () => clearInterval(timer))
}
