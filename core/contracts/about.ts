import { z } from 'zod'
import { base } from '#core/contracts/base.ts'

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

const supportBundleInput = z.object({ withFleet: z.boolean() })

export const aboutContract = {
  facts: base.output(aboutFacts),
  /** A ZIP file for whoever helps; without the fleet's data unless asked for. */
  supportBundle: base.input(supportBundleInput).output(z.file()),
}
