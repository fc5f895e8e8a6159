/** Writes an error with its causes to standard error, for whoever looks after the machine; never to a screen. */
export function report(error: unknown): void {
  console.error(new Date().toISOString(), error)
}
