import { z } from 'zod'
import { typedPath } from '#core/contracts/within.ts'
import { heavySources, limitKinds } from '#core/weight/heavy.ts'
import { changes, standings } from '#core/weight/month-rates.ts'
import { verdicts } from '#core/weight/verdict.ts'
import { groupRoles, unitKinds } from '#core/words/vocabulary.ts'
import { base, day, editing, typedDay, typedMonth, name, person } from '#core/contracts/base.ts'

/** What the Heavy Log asks and is told; times UTC, days YYYY-MM-DD, weights lb, chances and rates 0 to 1. */

/** In the order in which columns can be sorted by. */
export const heavySortNames = ['weighedAt', 'overLb', 'pOver', 'weightLb'] as const

export const heavySpan = z.object({
  unit: name.optional(),
  yard: name.optional(),
  kinds: z.array(z.enum(limitKinds)).min(1).max(limitKinds.length).optional(),
  /** Days, both included. */
  from: typedDay.optional(),
  to: typedDay.optional(),
})
export type HeavySpanInput = z.infer<typeof heavySpan>

const heavyFilter = heavySpan.extend({
  /** By all evidence: over and too close where left out; `under` are those that are heavy by their line alone. */
  verdicts: z.array(z.enum(verdicts)).min(1).max(verdicts.length).optional(),
  sources: z.array(z.enum(heavySources)).min(1).max(heavySources.length).optional(),
  /** Also onboard weights about which a ticket of the same weighing has decided. */
  superseded: z.boolean().optional(),
  /** Only weights of which something else was said before: the look-back. Of every verdict where none is asked for. */
  changed: z.boolean().optional(),
})
export type HeavyFilterInput = z.infer<typeof heavyFilter>

const heavyListInput = heavyFilter.extend({
  sort: z.enum(heavySortNames).optional(),
  descending: z.boolean().optional(),
  offset: z.number().int().min(0).optional(),
  limit: z.number().int().min(1).max(500).optional(),
})

const heavyEntry = z.object({
  /** Of the stored weights: good until they are made anew. */
  id: z.number(),
  source: z.enum(heavySources),
  superseded: z.boolean(),
  weighedAt: z.string(),
  /** Dated after the day that the weights are of: listed, and counted in nothing until that day has come. */
  ahead: z.boolean(),
  /** Whose limit it is, and the combination in coupling order. */
  unit: z.string(),
  units: z.array(z.string()),
  yard: z.string().nullable(),
  kind: z.enum(limitKinds),
  group: z.string().nullable(),
  /** Of a bridge set: its axles counted from the front, and how many more sets are as bad. */
  set: z.object({ firstAxle: z.number(), lastAxle: z.number(), lengthFt: z.number(), more: z.number() }).nullable(),
  weightLb: z.number(),
  uLb: z.number(),
  limitLb: z.number(),
  overLb: z.number(),
  pOver: z.number(),
  verdict: z.enum(verdicts),
  /** What the lines in use read: what the driver's card said. null for a ticket, and without a line. */
  byLine: z.object({ weightLb: z.number(), uLb: z.number(), verdict: z.enum(verdicts) }).nullable(),
  provisional: z.boolean(),
  /** What makes it so, in words; null where it is not. */
  provisionalWhy: z.string().nullable(),
  /**
   * What was said before, where it is no longer held: the first word that was stored, or what the line in use read; and
   * why that is so.
   */
  lookBack: z
    .object({
      verdict: z.enum(verdicts),
      weightLb: z.number().nullable(),
      uLb: z.number().nullable(),
      because: z.string(),
    })
    .nullable(),
  reading: z.string().nullable(),
  /** Of the record: ways to it. */
  readingId: z.number().nullable(),
  ticket: z.string().nullable(),
  ticketId: z.number().nullable(),
  /** null too where the House Rules keep names of drivers off screens and papers. */
  driver: z.string().nullable(),
  /** Where it was loaded, where the record says so. */
  lane: z.string().nullable(),
  scale: z.string().nullable(),
  note: z.string().nullable(),
  /** The record that the note stands with, or would: of a reading that belongs to a ticket, the one that has a note. */
  noteOn: z.enum(['reading', 'ticket']),
})
export type HeavyEntry = z.infer<typeof heavyEntry>

/** current: false while weights of a changed record are still being made anew; the screen asks again. */
const heavyPage = z.object({ current: z.boolean(), total: z.number(), rows: z.array(heavyEntry) })

const tally = { weighings: z.number(), over: z.number(), close: z.number() }
/** A rate with the ends of its 95 % interval; 0 to 1. */
const rateWithin = { rate: z.number(), low: z.number(), high: z.number() }
const unitTally = z.object({
  unit: z.string(),
  kind: z.enum(unitKinds),
  yard: z.string().nullable(),
  ...tally,
  worstLb: z.number().nullable(),
})

export const heavySummary = z.object({
  current: z.boolean(),
  total: z.object(tally),
  byMonth: z.array(z.object({ month: z.string(), ...tally })),
  byYard: z.array(z.object({ yard: z.string().nullable(), ...tally })),
  /** Heavy weights by what they were of. */
  byLimit: z.array(
    z.object({
      kind: z.enum(limitKinds),
      role: z.enum(groupRoles).nullable(),
      over: z.number(),
      close: z.number(),
      worstLb: z.number(),
    }),
  ),
  /** By unit, those over most often first, at most 500; a tractor or truck stands for its whole combination. */
  byUnit: z.array(unitTally),
  units: z.number(),
  /**
   * Tractors and trucks by their rate drawn towards the fleet's, at most 200, each with its rate as counted beside it;
   * null where nothing was weighed.
   */
  offenders: z
    .object({
      /**
       * The whole fleet's counted rate in these days, whichever units are asked for, and how many weighings' worth it
       * counts against a unit's own.
       */
      fleetRate: z.number(),
      fleetWeight: z.number(),
      rows: z.array(unitTally.extend({ counted: z.number(), ...rateWithin })),
    })
    .nullable(),
})
export type HeavySummary = z.infer<typeof heavySummary>

const mondayInput = z
  .object({
    /** The last whole month where it is left out. */
    month: typedMonth.optional(),
  })
  .optional()

/** A rate in another month, and what became of it since; 0 to 1. */
const earlierRate = z.object({ ...tally, ...rateWithin, change: z.enum(changes) })
/** Rates are drawn towards the fleet's of their month. */
const mondayRow = z.object({
  name: z.string().nullable(),
  /** Of a unit. */
  yard: z.string().nullable(),
  ...tally,
  ...rateWithin,
  standing: z.enum(standings),
  before: earlierRate.nullable(),
  yearBefore: earlierRate.nullable(),
  /** Of a unit that is worse for sure: what its weights over a limit rest on, the most first. */
  restsOn: z.array(z.string()),
})
export type MondayRow = z.infer<typeof mondayRow>
const mondayList = z.object({ total: z.number(), rows: z.array(mondayRow) })

export const mondayPage = z.object({
  current: z.boolean(),
  month: z.string(),
  from: day,
  to: day,
  before: z.string(),
  yearBefore: z.string(),
  /** The whole fleet: rates as counted; null: nothing was weighed in the month. */
  fleet: mondayRow.nullable(),
  /** The highest rate first. */
  units: mondayList,
  yards: mondayList,
  /** null: the House Rules keep the names of drivers off screens and papers. */
  drivers: mondayList.nullable(),
  /** Where it was loaded, of weighings that say so. */
  lanes: mondayList,
  /** Loads of the month of which something else was said before. */
  lookBack: z.object({ total: z.number(), rows: z.array(heavyEntry) }),
})
export type MondayPage = z.infer<typeof mondayPage>

const heavyNoteInput = z.object({
  record: z.union([z.object({ reading: name }), z.object({ scale: name, ticket: name })]),
  /** The note that the person saw when they began. */
  was: z.string().nullable(),
  /** Empty takes the note away. */
  note: z.string().trim().max(2000),
  by: person,
})

const heavyExportInput = heavyFilter.extend({
  format: z.enum(['csv', 'spreadsheet', 'pdf']),
  /** A folder of this computer to write to; without it the file is the answer. */
  folder: typedPath.optional(),
})
const heavyExport = z.object({ rows: z.number(), path: z.string().nullable(), file: z.file().nullable() })

export const heavyContract = {
  list: base.input(heavyListInput).output(heavyPage),
  summary: base.input(heavySpan).output(heavySummary),
  monday: base.input(mondayInput).output(mondayPage),
  mondayPdf: base.input(mondayInput).output(z.file()),
  note: editing.input(heavyNoteInput).output(z.object({ note: z.string().nullable() })),
  export: base.input(heavyExportInput).output(heavyExport),
}
