import { eventIterator } from '@orpc/contract'
import { z } from 'zod'
import { base, instant } from '#core/contracts/base.ts'
import { importOutcome, importProgress } from '#core/contracts/import.ts'
import { typedPath } from '#core/contracts/within.ts'

/**
 * Files picked in the window land in an inbox of the app (see the window's request handler); a path names a folder
 * here.
 */
const importSource = z.union([
  z.object({ inbox: z.string().regex(/^[a-z0-9-]{8,64}$/) }),
  z.object({ folder: typedPath }),
])

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
  /** Why the day's copy could not be kept; null when it was. */
  copyFailure: z.string().nullable(),
  /** What of the file was damaged and could be made anew, until somebody has seen it. */
  mended: z.string().nullable(),
})
export type FileState = z.infer<typeof fileState>

export const fileContract = {
  state: base.output(fileState),
  open: base.input(z.object({ path: typedPath })).output(fileState),
  openDemo: base.output(fileState),
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
