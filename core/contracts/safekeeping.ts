import { z } from 'zod'
import { base, instant } from '#core/contracts/base.ts'
import { typedPath } from '#core/contracts/within.ts'

/** When a fleet file was last looked over whole, on which occasion, and what came of it. */
export const checkNote = z.object({
  at: instant,
  by: z.enum(['copy', 'restore', 'person']),
  /** `mended`: indexes, judgements or weights were made anew from the record, which was whole. */
  outcome: z.enum(['whole', 'mended', 'harmed']),
  /** What was found, each in a few words as `keepPhrase` keeps them; empty where all was whole. */
  found: z.array(z.string()),
})
export type CheckNote = z.infer<typeof checkNote>

/** When a restore was last tried out of the way of the file, of which copy, and what came of it. */
export const rehearsalNote = z.object({
  at: instant,
  copy: z.string(),
  copyMadeAt: instant,
  /** `hindered`: it could not be tried, which says nothing of the copy. */
  outcome: z.enum(['restored', 'failed', 'hindered']),
  /** Why it did not go well, or what is missing though it did, likewise; else empty. */
  words: z.string(),
  /** How many rows came back, each as it lies in the copy. */
  rows: z.number(),
})
export type RehearsalNote = z.infer<typeof rehearsalNote>

const secondPlace = z.object({
  folder: z.string(),
  /** Whether it lies on the disk of the fleet file, whose end it would share; null: it cannot be told. */
  sameDisk: z.boolean().nullable(),
  /** The newest copy that arrived there whole. */
  newest: z.object({ name: z.string(), madeAt: instant }).nullable(),
  /** Why the last attempt came to nothing; null: it did not. */
  failure: z.string().nullable(),
  /** For how many days nothing has arrived there, where that is too long. */
  overdueDays: z.number().nullable(),
})

export const safekeepingPage = z.object({
  file: z.string(),
  demo: z.boolean(),
  /** Whether it is open to look at only: then no copy is made, and none rehearsed. */
  lookOnly: z.boolean(),
  checked: checkNote.nullable(),
  /** For how many days it has not been checked, where that is too long; so for the rehearsal. */
  checkOverdueDays: z.number().nullable(),
  copiesFolder: z.string(),
  copies: z.number(),
  lastCopy: z.object({ name: z.string(), madeAt: instant }).nullable(),
  /** Why the last copy could not be made; null when it was. */
  copyFailure: z.string().nullable(),
  rehearsed: rehearsalNote.nullable(),
  rehearsalOverdueDays: z.number().nullable(),
  second: secondPlace.nullable(),
})
export type SafekeepingPage = z.infer<typeof safekeepingPage>

export const safekeepingContract = {
  page: base.output(safekeepingPage),
  /** Looks the open file over whole, now. */
  checkNow: base.output(checkNote),
  /** Restores the newest copy into a folder of its own and compares, now; null: there is no copy yet. */
  rehearseNow: base.output(rehearsalNote.nullable()),
  /** The folder that the newest copies go to beside their own; null: none any more. What lies there stays. */
  chooseSecond: base.input(z.object({ folder: typedPath.nullable() })).output(safekeepingPage),
  /** Brings the newest copy to the second place now. */
  copyToSecond: base.output(safekeepingPage),
}
