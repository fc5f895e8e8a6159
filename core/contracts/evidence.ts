import { phrase } from '#core/words/phrase.ts'
import { z } from 'zod'
import { evidenceKinds } from '#core/words/record-fields.ts'
import { base, editing, offeredFix, typedName } from '#core/contracts/base.ts'

/**
 * What the lists of the Scale House and the sheets of a ticket or reading ask and are told; columns, units and times as
 * stored.
 */
const id = z.number().int()
const stored = z.union([z.string().max(10_000), z.number(), z.null()])
const values = z
  .record(z.string().max(700), stored)
  .refine((record) => Object.keys(record).length <= 200, { error: () => phrase('At most 200 fields are accepted') })

/** after: the last row of the page before. */
export const evidenceListInput = z.object({
  text: z.string().max(200).optional(),
  unit: typedName.optional(),
  after: z.object({ at: z.string().max(40), id }).optional(),
  limit: z.number().int().min(1).max(200).optional(),
})
export type EvidenceListInput = z.infer<typeof evidenceListInput>

const next = z.object({ at: z.string(), id: z.number() }).nullable()
const placed = z.object({ place: z.string(), value: z.number() })

const ticketPage = z.object({
  rows: z.array(
    z.object({
      id: z.number(),
      number: z.string(),
      scale: z.string(),
      weighedAt: z.string(),
      grossLb: z.number().nullable(),
      units: z.array(z.string()),
      weights: z.array(placed),
      readings: z.number(),
      lines: z.number(),
      attachments: z.number(),
    }),
  ),
  next,
})
export type TicketPage = z.infer<typeof ticketPage>
const readingPage = z.object({
  rows: z.array(
    z.object({
      id: z.number(),
      reading: z.string(),
      takenAt: z.string(),
      lift: z.string().nullable(),
      ticketId: z.number().nullable(),
      ticket: z.string().nullable(),
      pressures: z.array(placed),
    }),
  ),
  next,
})
export const calibrationPage = z.object({
  rows: z.array(
    z.object({
      id: z.number(),
      unit: z.string(),
      group: z.string(),
      calibratedAt: z.string(),
      by: z.string().nullable(),
      points: z.number(),
      voided: z.object({ at: z.string(), by: z.string().nullable(), reason: z.string() }).nullable(),
      /** The line in use; null where another calibration is, or none. */
      line: z.object({ a: z.number(), b: z.number(), uLimitLb: z.number().nullable() }).nullable(),
    }),
  ),
  next,
})
export type CalibrationRow = z.infer<typeof calibrationPage>['rows'][number]

const place = z.object({ kind: z.enum(evidenceKinds), id })
const sheetInput = place

const sheet = z.object({
  kind: z.enum(evidenceKinds),
  id: z.number(),
  /** How the change log names it. */
  key: z.string(),
  /** How people name it, in the language of whoever asks. */
  name: z.string(),
  units: z.array(z.string()),
  /**
   * The groups or circuits that it may have a value of, and the scales to choose from: what `evidenceFields` asks for.
   */
  places: z.array(z.string()),
  /** Two groups that stood on one platform, or may have: by the name of both, and each by its place. */
  pairs: z.array(z.object({ place: z.string(), of: z.array(z.string()) })),
  scales: z.array(z.string()),
  values: z.record(z.string(), z.union([z.string(), z.number(), z.null()])),
  /** Dated after today: it counts for nothing until that day comes. */
  ahead: z.boolean(),
  lines: z.array(
    z.object({ id: z.number(), unit: z.string(), group: z.string(), calibratedAt: z.string(), voided: z.boolean() }),
  ),
})
export type EvidenceView = z.infer<typeof sheet>
/** readings: of a ticket; ticketId: of a reading. */
const evidenceSheet = sheet.extend({
  readings: z.array(sheet),
  ticketId: z.number().nullable(),
  findings: z.array(
    z.object({
      code: z.string(),
      severity: z.enum(['stop', 'warn', 'note']),
      message: z.string(),
      fix: offeredFix.nullable(),
    }),
  ),
})

export const correctInput = place.extend({
  was: values,
  now: values,
  reason: z.string().trim().max(2000),
  by: typedName,
  /** Only tell what would follow; nothing is stored. */
  tryOut: z.boolean(),
})

const line = z.object({ a: z.number(), b: z.number(), chi2: z.number(), chi2Limit95: z.number().nullable() })
/** The lines that a correction changes. */
export const corrected = z.object({
  changed: z.boolean(),
  lines: z.array(
    z.object({
      unit: z.string(),
      group: z.string(),
      calibratedAt: z.string(),
      /** null: the points made no line. */
      before: line.nullable(),
      after: line,
      limitLb: z.number(),
      /**
       * How much more the line reads at the pressure at which it read the limit before, lb; null without a line before.
       */
      atLimitLb: z.number().nullable(),
    }),
  ),
})
export type Corrected = z.infer<typeof corrected>

/** Tickets, readings and calibrations, newest first, and what may be corrected in them. */
export const evidenceContract = {
  tickets: base.input(evidenceListInput).output(ticketPage),
  readings: base.input(evidenceListInput).output(readingPage),
  calibrations: base.input(evidenceListInput).output(calibrationPage),
  sheet: base.input(sheetInput).output(evidenceSheet),
  /** Refits every line that rests on it, and tells; or only tells what would follow. */
  correct: editing.input(correctInput).output(corrected),
}
