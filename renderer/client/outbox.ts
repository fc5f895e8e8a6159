import { ORPCError } from '@orpc/client'
import { client } from '#renderer/client/api.ts'
import { foundNobody, noteHouse, onReturn } from '#renderer/client/house-away.ts'
import { makeListeners } from '#renderer/client/listeners.ts'
import { isAtHouse } from '#renderer/client/pass.ts'
import { type QueuedSave, phoneStore } from '#renderer/client/phone-store.ts'

export type { QueuedSave } from '#renderer/client/phone-store.ts'

/** A save as a form gives it. */
export type NewSave = Pick<QueuedSave, 'person' | 'byClock' | 'words' | 'call' | 'form'> & {
  readonly photos: readonly File[]
}

/** What became of a save: in the record under a name, with what there is to say of it; or kept here. */
export type SaveOutcome =
  | {
      readonly kind: 'saved'
      /** Of the reading; null where there is none. */
      readonly reading: string | null
      /** The ticket that it is; null where it is none. */
      readonly ticketId: number | null
      /** By how much this device's clock is ahead of the house's, ms, where the house's was taken; else 0. */
      readonly clockOffMs: number
      /** What was odd about the photos, in sentences. */
      readonly notes: readonly string[]
    }
  | { readonly kind: 'kept' }

type Saved = Extract<SaveOutcome, { kind: 'saved' }>

/** A form waits so long to hear of its save before it says that it is kept here. */
const patienceMs = 12_000
/** One that is on its way so long is sent again: it counts once. */
const callMs = 60_000
const photoMs = 300_000
/** While something waits, the house is tried so often. */
const againMs = 15_000

const lockName = 'tareline-outbox'
const channelName = 'tareline-outbox'

let queue: readonly QueuedSave[] = []
const { subscribe, tell } = makeListeners()
const channel = 'BroadcastChannel' in globalThis ? new BroadcastChannel(channelName) : undefined

/** All that waits on this device, oldest first, of whomever; for `useSyncExternalStore`. */
export const outbox = {
  subscribe,
  now: () => queue,
}

/** Looks at what waits here; a browser that keeps nothing has nothing. */
export const lookAtOutbox = (): Promise<void> => look().catch(() => undefined)

async function look(): Promise<void> {
  queue = (await (await phoneStore()).getAll('queue')).toSorted((a, b) => a.typedAt - b.typedAt)
  tell()
}

async function changed(): Promise<void> {
  await look()
  channel?.postMessage(null)
}

async function put(save: QueuedSave): Promise<void> {
  await (await phoneStore()).put('queue', save, save.id)
  await changed()
}

/** Takes a save off the queue without sending it. */
export async function takeOff(id: string): Promise<void> {
  await (await phoneStore()).delete('queue', id)
  await changed()
}

/** Adds the photos that remain; each is taken off the save as it is added. */
async function sendPhotos(save: QueuedSave, note: (save: QueuedSave) => Promise<void>): Promise<string[]> {
  const notes: string[] = []
  let left = save
  while (left.photos[0] && left.ticketId !== null && (standing === left.person || !isAtHouse())) {
    const { id, file } = left.photos[0]
    const { warning } = await client.attachment.add(
      { ticketId: left.ticketId, file, by: left.call.input.by, sentId: id },
      { signal: AbortSignal.timeout(photoMs) },
    )
    if (warning !== null) notes.push(warning)
    left = { ...left, photos: left.photos.slice(1) }
    await note(left)
  }
  return notes
}

/** Sends a save and its photos; `note` keeps how far it has come. Errors: those of the procedures. */
async function send(save: QueuedSave, note: (save: QueuedSave) => Promise<void>): Promise<Saved> {
  const { call } = save
  const way = { sent: { id: save.id, clock: new Date().toISOString(), byClock: save.byClock } }
  const signal = AbortSignal.timeout(callMs)
  if (call.procedure === 'weigh.save') {
    const { reading, clockOffMs } = await client.weigh.save({ ...call.input, ...way }, { signal })
    return { kind: 'saved', reading, ticketId: null, clockOffMs, notes: [] }
  }
  // Sent again also where only photos remain: it is told what the first was told.
  const { tickets, readings, clockOffMs } = await client.weighIn.save({ ...call.input, ...way }, { signal })
  const ticketId = tickets[0] ?? null
  const arrived = { ...save, ticketId }
  await note(arrived)
  const notes = await sendPhotos(arrived, note)
  return { kind: 'saved', reading: readings[0] ?? null, ticketId, clockOffMs, notes }
}

/** Who waits to hear of a save, by its id. */
const waiting = new Map<
  string,
  { readonly told: (outcome: SaveOutcome) => void; readonly failed: (error: unknown) => void }
>()

/** What a house says that will have nothing of a save, however often it is sent. */
const refusalOf = (error: unknown): string | undefined =>
  error instanceof ORPCError && error.status >= 400 && error.status < 500 && ![401, 408, 429].includes(error.status)
    ? error.message
    : undefined

/** Sends one save of the queue; false where the others have to wait as well. */
async function sendQueued(save: QueuedSave): Promise<boolean> {
  try {
    const outcome = await send(save, put)
    // Who waits hears of it first. Where the window closes before it is taken off, it is sent again, and counts once.
    waiting.get(save.id)?.told(outcome)
    await takeOff(save.id)
    return true
  } catch (error) {
    if (foundNobody(error)) noteHouse(false)
    const sentence = refusalOf(error)
    if (sentence === undefined) return false
    const now = queue.find(({ id }) => id === save.id) ?? save
    const form = waiting.get(save.id)
    // Whoever still looks at the form mends it there.
    if (form && now.ticketId === null) {
      await takeOff(save.id)
      form.failed(error)
    } else await put({ ...now, refused: sentence })
    return true
  }
}

/** Who stands at this device just now: nobody's saves but that person's are sent. */
let standing: string | null = null
let isSending: Promise<void> = Promise.resolve()

async function sendInTurn(): Promise<void> {
  await look()
  const due = queue.filter(({ person, refused }) => person === standing && refused === null)
  for (const save of due) {
    if (save.person !== standing || !(await sendQueued(save))) break
  }
  for (const { id } of due) waiting.get(id)?.told({ kind: 'kept' })
}

/** Sends what waits, one after another, in one window of this browser at a time. */
function sendWaiting(): void {
  isSending = isSending.then(() => navigator.locks.request(lockName, sendInTurn)).catch(() => undefined)
}

/** Sends a save again that the house would not have. */
export async function sendAgain(save: QueuedSave): Promise<void> {
  await put({ ...save, refused: null })
  sendWaiting()
}

/**
 * Saves under a new mark: kept here first, so that nothing is lost on the way; then sent. Errors: those of the save.
 */
export async function save({ photos, ...given }: NewSave): Promise<SaveOutcome> {
  const one: QueuedSave = {
    ...given,
    id: crypto.randomUUID(),
    typedAt: Date.now(),
    photos: photos.map((file) => ({ id: crypto.randomUUID(), file })),
    ticketId: null,
    refused: null,
  }
  // The app's own window has no network between it and the core.
  if (!isAtHouse()) return await send(one, () => Promise.resolve())
  await put(one)
  void navigator.storage.persist()
  const { promise, resolve: told, reject: failed } = Promise.withResolvers<SaveOutcome>()
  waiting.set(one.id, { told, failed })
  const patience = setTimeout(() => told({ kind: 'kept' }), patienceMs)
  sendWaiting()
  try {
    return await promise
  } finally {
    clearTimeout(patience)
    waiting.delete(one.id)
  }
}

/**
 * Has what waits of a person sent as soon as it can be, for as long as that person stands here; returns how to stop.
 */
export function keepSending(person: string): () => void {
  standing = person
  const leaving = new AbortController()
  const { signal } = leaving
  const again = () => {
    if (queue.some((each) => each.person === person && each.refused === null)) sendWaiting()
  }
  const timer = setInterval(again, againMs)
  const stop = onReturn(again)
  addEventListener('online', again, { signal })
  document.addEventListener('visibilitychange', again, { signal })
  channel?.addEventListener('message', () => void look(), { signal })
  void look().then(again, () => undefined)
  return () => {
    standing = null
    leaving.abort()
    clearInterval(timer)
    stop()
  }
}
