import { z } from 'zod'
import { base, day, instant, name, trust } from '#core/contracts/base.ts'
import { weighTrip } from '#core/contracts/bench.ts'
import { findingCodes, severities, trustStates } from '#core/findings/finding.ts'

/** What the page of a day asks and is told; times UTC, days YYYY-MM-DD. */

const todayInput = z
  .object({
    /** Only units at home in this yard; null: in none; all where it is left out. */
    yard: name.nullable().optional(),
  })
  .optional()
export type TodayInput = z.infer<typeof todayInput>

const ofUnit = { unit: z.string(), yard: z.string().nullable() }
/** The first rows of a list, and how long all of it is. */
const firstOf = <Row extends z.ZodType>(row: Row) => z.object({ total: z.number(), rows: z.array(row) })

const untrusted = z.object({
  code: z.enum(findingCodes),
  severity: z.enum(severities),
  /** What it takes its groups down to; null: it unsettles no line by itself. */
  trust: trust.nullable(),
  /** null: of a scale or a ticket. */
  unit: z.string().nullable(),
  yard: z.string().nullable(),
  /** Every group of the unit that the same is found of. */
  groups: z.array(z.string()),
  scale: z.string().nullable(),
  ticket: z.string().nullable(),
  ticketId: z.number().nullable(),
  since: instant.nullable(),
  message: z.string(),
  nextStep: z.string(),
})
export type UntrustedView = z.infer<typeof untrusted>

export const todayPage = z.object({
  asOf: instant,
  day,
  yards: z.array(z.string()),
  /** Sensed groups of units in service by their trust. */
  groups: z.record(z.enum(trustStates), z.number()),
  /** What takes trust away, the worst first, each once; total counts findings, of which one row may gather several. */
  untrusted: firstOf(untrusted).extend({
    byCode: z.array(z.object({ code: z.enum(findingCodes), findings: z.number() })),
  }),
  due: z.object({
    /** The last day that is looked at. */
    until: day,
    /** Lines that are trusted until then. */
    lines: firstOf(z.object({ ...ofUnit, group: z.string(), dueOn: day })),
    /** Cells that would not last until their unit's next visit, or are past their life, by the day to swap them. */
    cells: firstOf(
      z.object({
        ...ofUnit,
        group: z.string().nullable(),
        circuit: z.string().nullable(),
        serial: z.string(),
        swapBy: day,
        /** Whether that day has come: the cell is to be swapped at once. */
        now: z.boolean(),
        overdue: z.boolean(),
      }),
    ),
    visits: firstOf(z.object({ ...ofUnit, on: day })),
  }),
  changed: z.object({
    /** The day before this one. */
    since: day,
    /** Groups whose trust is another than on the day they were judged for before; those that became worse first. */
    trust: firstOf(z.object({ ...ofUnit, group: z.string(), was: trust, now: trust, on: day })),
    /** What was recorded since that day began, by who; the newest first. */
    recorded: firstOf(z.object({ by: z.string(), subject: z.string(), action: z.string(), changes: z.number() })),
  }),
  /** The weighings that teach most. */
  weigh: z.array(weighTrip),
})
export type TodayPage = z.infer<typeof todayPage>

export const todayContract = {
  page: base.input(todayInput).output(todayPage),
  pdf: base.input(todayInput).output(z.file()),
  calendar: base.input(todayInput).output(z.file()),
  /** Every finding as a spreadsheet, the worst first. */
  findings: base.input(todayInput).output(z.file()),
}
