import type { IncomingMessage } from 'node:http'
import type { LoopbackLimits } from '#electron/loopback/limits.ts'

/**
 * Calls `late` once when the body of a request comes in more slowly than the limits allow, as from a caller who means
 * to keep the connection. What has been received is counted on the socket, so that whoever reads the body is not
 * disturbed.
 */
export function watchBody(
  request: IncomingMessage,
  { bodyMs, bodyBytes }: Pick<LoopbackLimits, 'bodyMs' | 'bodyBytes'>,
  late: () => void,
): void {
  const { socket } = request
  let seen = socket.bytesRead
  const timer = setInterval(() => {
    if (request.complete || request.destroyed) return clearInterval(timer)
    // A body that nobody reads yet stops at the window's own edge, which is no fault of the caller.
    if (request.readableLength >= request.readableHighWaterMark) return
    if (socket.bytesRead - seen < bodyBytes) {
      clearInterval(timer)
      late()
    }
    seen = socket.bytesRead
  }, bodyMs)
  timer.unref()
  request.once('close', () => clearInterval(timer))
}
