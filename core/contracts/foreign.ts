import { phrase } from '#core/words/phrase.ts'
import { eventIterator } from '@orpc/contract'
import { z } from 'zod'
import { storedImport, refusedImport } from '#core/contracts/import.ts'
import { typedPath } from '#core/contracts/within.ts'
import { encodings, foreignMapping, isZone, mappingName } from '#core/foreign/mapping/mapping.ts'
import { base, person } from '#core/contracts/base.ts'
import { importProgress } from '#core/contracts/import.ts'

/** What the screen for foreign CSV files asks and is told; weights lb, pressures psi, times UTC. */

/** How the log and the sentences call a picked file. */
const fileName = z.string().trim().min(1).max(255)
/** A file picked in the window lies in an inbox of the app; a path names one on this computer. */
const foreignSource = z.union([
  z.object({ inbox: z.string().regex(/^[a-z0-9-]{8,64}$/), name: fileName }),
  z.object({ path: typedPath }),
])
export type ForeignFileSource = z.infer<typeof foreignSource>

const zone = z
  .string()
  .max(100)
  .refine(isZone, { error: () => phrase('The IANA name of a time zone is accepted, such as America/Denver') })

/** mapping: null has one guessed; a saved one that fits comes first. zone: of the person, for the guess. */
const foreignPreviewInput = z.object({ source: foreignSource, mapping: foreignMapping.nullable(), zone })
const bringInForeignInput = z.object({ source: foreignSource, mapping: foreignMapping, goodRows: z.boolean() })

const cellProblem = z.object({
  column: z.string().nullable(),
  value: z.string(),
  accepted: z.string(),
  message: z.string(),
})

/** A row as it would be stored: a weight of a ticket, or a pressure of a reading. */
const storedRow = z.object({
  scale: z.string(),
  ticket: z.string(),
  reading: z.string(),
  at: z.string(),
  unit: z.string(),
  group: z.string(),
  circuit: z.string(),
  weightLb: z.number().nullable(),
  grossLb: z.number().nullable(),
  psi: z.number().nullable(),
  elevationFt: z.number().nullable(),
  temperatureF: z.number().nullable(),
  lift: z.string(),
  driver: z.string(),
  lane: z.string(),
})
export type StoredRowView = z.infer<typeof storedRow>

const previewRow = z.object({
  line: z.number(),
  cells: z.array(z.string()),
  problems: z.array(cellProblem),
  /** Weights that are little for an axle group, as a number is that was read wrongly. */
  light: z.array(z.object({ column: z.string().nullable(), weightLb: z.number() })),
  stored: z.array(storedRow),
})

export const foreignPreview = z.object({
  mapping: foreignMapping,
  /** The saved mapping that was taken; null: guessed, or given. */
  taken: z.string().nullable(),
  /** Names of saved mappings whose columns the file has. */
  fits: z.array(z.string()),
  /** The columns by name; null: the one that says what is wrong, which is passed over. */
  columns: z.array(z.string().nullable()),
  /** What the mapping lacks. */
  gaps: z.array(z.string()),
  /** What is wrong with the text itself. */
  faults: z.array(z.object({ line: z.number(), message: z.string() })),
  rows: z.array(previewRow),
  /** Whether these are all rows of the file. */
  isWhole: z.boolean(),
})
export type ForeignPreview = z.infer<typeof foreignPreview>

export const foreignOutcome = z.discriminatedUnion('outcome', [
  storedImport.extend({
    /** Rows of the foreign file that were imported. */
    rows: z.number(),
    /** Rows that were left out, as a CSV text that the same mapping reads. */
    rest: z.object({ rows: z.number(), text: z.string(), encoding: z.enum(encodings) }).nullable(),
  }),
  refusedImport.extend({
    /** Whether the good rows may be imported without the others. */
    canTakeGood: z.boolean(),
  }),
])
export type ForeignOutcome = z.infer<typeof foreignOutcome>

const id = z.number().int().min(1)
export const savedMapping = z.object({ id: z.number(), name: z.string(), mapping: foreignMapping })
export type SavedMapping = z.infer<typeof savedMapping>

/** id: null adds one. */
const saveMappingInput = z.object({ id: id.nullable(), name: mappingName, mapping: foreignMapping, by: person })
const removeMappingInput = z.object({ id, by: person })

/** CSV files from scale operators and sensor apps, read by a mapping. */
export const foreignContract = {
  /** The first rows as they would be stored; nothing is. */
  preview: base.input(foreignPreviewInput).output(foreignPreview),
  bringIn: base.input(bringInForeignInput).output(eventIterator(importProgress, foreignOutcome)),
  mappings: base.output(z.array(savedMapping)),
  saveMapping: base.input(saveMappingInput).output(savedMapping),
  removeMapping: base.input(removeMappingInput).output(z.object({ removed: z.literal(true) })),
}
