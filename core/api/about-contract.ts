import { z } from 'zod'

const text = z.string()

/** What the About screen shows: what runs, on what, and where its files lie. */
export const aboutFacts = z.object({
  version: text,
  /** Step of the database that this version writes. */
  step: z.number(),
  sqlite: text,
  node: text,
  /** null in the browser's window. */
  electron: text.nullable(),
  chromium: text.nullable(),
  system: text,
  file: text,
  logFolder: text,
})
export type AboutFacts = z.infer<typeof aboutFacts>

export const supportBundleInput = z.object({ withFleet: z.boolean() })
