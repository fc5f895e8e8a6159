import { fleetWork } from '#core/words/touch.ts'
import { eventIterator } from '@orpc/contract'
import { z } from 'zod'
import { base, day, instant } from '#core/contracts/base.ts'
import { importOutcome, importProgress } from '#core/contracts/import.ts'
import { rosterCounts, rosterRow } from '#core/contracts/unit.ts'
import { typedPath } from '#core/contracts/within.ts'
import { touchKinds } from '#core/words/touch.ts'

/**
 * Files picked in the window land in an inbox of the app (see the window's request handler); a path names a folder
 * here.
 */
const importSource = z.union([
  z.object({ inbox: z.string().regex(/^[a-z0-9-]{8,64}$/) }),
  z.object({ folder: typedPath }),
])

/** What is done for the whole fleet, for the person who waits; share: of it, null where it cannot be told. */
const followUp = z.object({ work: z.enum(fleetWork), share: z.number().min(0).max(1).nullable() })
export type FollowUp = z.infer<typeof followUp>

/** What went wrong with the safekeeping of a file so that it is told on every screen. */
const careWarning = z.enum(['rehearsal-failed', 'second-copy-overdue'])
export type CareWarning = z.infer<typeof careWarning>

const fileState = z.object({
  file: z.string(),
  demo: z.boolean(),
  units: z.number(),
  version: z.string(),
  /** Counts committed changes; a screen asks again when it moves. */
  revision: z.number(),
  /** When the fleet was last judged; a screen asks again when it moves. */
  assessedAt: instant.nullable(),
  /** Which revisions judgements and weights are made of; a screen asks again when it moves. */
  madeOf: z.string(),
  /** Counts how often judgements were stored; a window that was told one is told what came after it. */
  renewals: z.number(),
  /** Whether everything that is stored of judgements and weights is that of the record as it stands, as of today. */
  current: z.boolean(),
  /** The day that the fleet as a whole was last judged for; single units may have been judged since. */
  judgedOn: day.nullable(),
  /** What the shared job does for the whole fleet just now. */
  following: followUp.nullable(),
  /** A person wants the fleet left as it is for now. */
  heldBack: z.boolean(),
  /** Of when it is, where it is open to look at only: then nothing can be saved. */
  lookedAt: instant.nullable(),
  /** Why the day's copy could not be kept; null when it was. */
  copyFailure: z.string().nullable(),
  careWarnings: z.array(careWarning),
  /** What of the file was damaged and could be made anew, until somebody has seen it. */
  mended: z.string().nullable(),
})
export type FileState = z.infer<typeof fileState>

/** Up to where a window knows the file: what comes after is news to it. */
const seen = z.object({
  file: z.string().max(4096),
  revision: z.number().int().min(0).max(Number.MAX_SAFE_INTEGER),
  renewals: z.number().int().min(0).max(Number.MAX_SAFE_INTEGER),
  madeOf: z.string().max(60),
})
export type Seen = z.infer<typeof seen>

/** Of more changes than that the latest are told. */
export const mostChangesTold = 8

/** What has happened to the file since a window last looked, small enough to be told to all. */
const news = z.object({
  state: fileState,
  /** The state that it goes on from; null: it tells nothing about what came before. */
  since: seen.nullable(),
  /** What can follow from what was changed in the record. */
  kinds: z.array(z.enum(touchKinds)),
  /** Whether judgements, or weights, were made anew. */
  judged: z.boolean(),
  weighed: z.boolean(),
  /** Whether the fleet as a whole was judged anew. Of units that are not named, what the Roster shows is the same. */
  whole: z.boolean(),
  /** The units that any of it is about; null: it may be any. */
  units: z.array(z.string()).nullable(),
  /** Their rows of the Roster as they are now, which stand in place of those that the window has. */
  rows: z.array(rosterRow),
  /** How many units in service stand in each state of trust; null where nothing has moved. */
  counts: rosterCounts.nullable(),
  /** Who changed what since then, the latest first, a few of them. */
  changes: z.array(
    z.object({
      at: z.string(),
      by: z.string(),
      unit: z.string().nullable(),
      subject: z.string(),
      key: z.string(),
      recordId: z.number().nullable(),
    }),
  ),
  /** The forms of records that somebody has open just now, by the names of their drafts. */
  present: z.array(z.object({ form: z.string(), by: z.string() })),
})
export type News = z.infer<typeof news>

export const fileContract = {
  state: base.output(fileState),
  open: base.input(z.object({ path: typedPath })).output(fileState),
  /** Opens a file as it is now, to look at: nothing of it is changed, and nothing can be saved. */
  look: base.input(z.object({ path: typedPath })).output(fileState),
  openDemo: base.output(fileState),
  /**
   * Tells a window what happens to the open file, as it happens and every few seconds that it is still there; ends by
   * itself after so many seconds, when the window goes on from what it saw last.
   */
  follow: base
    .input(z.object({ seen: seen.nullable(), seconds: z.number().int().min(1).max(3600) }))
    .output(eventIterator(news)),
  /** Leaves the fleet as it is judged for now, and goes on with it. */
  holdBack: base.output(fileState),
  followUp: base.output(fileState),
}

export const folderContract = {
  bringIn: base.input(importSource).output(eventIterator(importProgress, importOutcome)),
  writeOut: base.input(z.object({ folder: typedPath })).output(
    z.object({
      folder: z.string(),
      files: z.array(z.object({ file: z.string(), rows: z.number() })),
      formulaTexts: z.number(),
      leftOut: z.array(z.string()),
    }),
  ),
}
