import { type DBSchema, type IDBPDatabase, openDB } from 'idb'
import type { SaveReadingInput } from '#core/contracts/weigh.ts'
import type { SaveWeighInInput } from '#core/contracts/weigh-in.ts'

/** What a save of the queue calls. */
export type QueuedCall =
  | { readonly procedure: 'weigh.save'; readonly input: Omit<SaveReadingInput, 'sent'> }
  | { readonly procedure: 'weighIn.save'; readonly input: Omit<SaveWeighInInput, 'sent'> }

export interface QueuedPhoto {
  /** Under which it is added once. */
  readonly id: string
  readonly file: File
}

/** A save that waits until the house can be reached. */
export interface QueuedSave {
  /** Under which it is saved once. */
  readonly id: string
  /** Who typed it, by the name that person signs in with; nobody else sends it. */
  readonly person: string
  /** ms UTC by this device's clock. */
  readonly typedAt: number
  readonly byClock: boolean
  /** What it is, as people call it. */
  readonly words: string
  readonly call: QueuedCall
  /** Of its one ticket, those that are still to be added. */
  readonly photos: readonly QueuedPhoto[]
  /** The ticket that it was saved as, whose photos remain to be added; null until then. */
  readonly ticketId: number | null
  /** Why the house will not have it, as a sentence; null where it has not been asked yet. */
  readonly refused: string | null
  /** The form that it was typed into and what stood there, so that it can be taken back and mended. */
  readonly form: { readonly screen: string; readonly draft: string; readonly text: string }
}

interface KeptAnswer {
  readonly person: string
  readonly answer: unknown
  /** ms UTC by this device's clock. */
  readonly at: number
}

interface PhoneSchema extends DBSchema {
  /** What the house said last, of what weighing without it needs; by person, procedure and what was asked. */
  answers: { key: string; value: KeptAnswer }
  queue: { key: string; value: QueuedSave }
  /** Photos of a form that is not sent yet, by the place of its draft. */
  photos: { key: string; value: readonly File[] }
}

let opening: Promise<IDBPDatabase<PhoneSchema>> | undefined

/** What this browser keeps for times without a house; opened once. */
export function phoneStore(): Promise<IDBPDatabase<PhoneSchema>> {
  opening ??= openDB<PhoneSchema>('tareline', 1, {
    upgrade: (db) => {
      for (const store of ['answers', 'queue', 'photos'] as const) db.createObjectStore(store)
    },
    terminated: () => {
      opening = undefined
    },
  })
  return opening
}
