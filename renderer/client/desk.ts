import { client } from '#renderer/client/api.ts'

const waiting = new Map<string, string | null>()
const sending = new Set<string>()

/**
 * Leaves what was typed on the desk of the open file, so that it outlives the window; null takes it away. One at a time
 * under a name, so that an older text never arrives after a newer one.
 */
export async function leaveOnDesk(name: string, text: string | null): Promise<void> {
  waiting.set(name, text)
  if (sending.has(name)) return
  sending.add(name)
  try {
    while (waiting.has(name)) {
      const next = waiting.get(name) ?? null
      waiting.delete(name)
      await client.desk.leave({ name, text: next })
    }
  } catch {
    // The copy in this browser stands in until the core answers again; the next keystroke tries anew.
  } finally {
    sending.delete(name)
  }
}

/** What lies on the desk under a name; null also while the core does not answer, which the screen itself tells. */
export const readFromDesk = (name: string): Promise<string | null> =>
  client.desk.read({ name }).then(
    ({ text }) => text,
    () => null,
  )
