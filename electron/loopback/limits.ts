/** How much one caller may ask of the loopback window before it is turned away. */
export interface LoopbackLimits {
  /** Body of one call; picked files have their own, see the inboxes. */
  readonly callBytes: number
  /** Body of a call that carries a picked file, with what its form adds. */
  readonly uploadBytes: number
  readonly headerBytes: number
  /** For the head of a request. */
  readonly headersMs: number
  /** Within each such span a body must grow by `bodyBytes`, or end. */
  readonly bodyMs: number
  readonly bodyBytes: number
  /** For a whole request, however steadily it comes. */
  readonly requestMs: number
  readonly connections: number
  /** How often the server looks for requests that are late. */
  readonly lookMs: number
}

export const usualLimits: LoopbackLimits = {
  callBytes: 4 * 1024 ** 2,
  uploadBytes: 21 * 1024 ** 2,
  headerBytes: 16 * 1024,
  headersMs: 10_000,
  bodyMs: 10_000,
  bodyBytes: 1024,
  requestMs: 600_000,
  connections: 64,
  lookMs: 5000,
}
