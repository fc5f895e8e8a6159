import { phrase } from '#core/words/phrase.ts'
import { z } from 'zod'
import { noted } from '#core/contracts/weigh.ts'
import { within } from '#core/contracts/within.ts'
import type { GroupHistory, ScaleFacts } from '#core/evidence/history.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { groupRoles, ranges, unitKinds } from '#core/words/vocabulary.ts'
import { base, newName, typedName, typedInstant } from '#core/contracts/base.ts'
import { clockOffMs, sent } from '#core/contracts/sent.ts'

/** What the Weigh-in asks and is told; times UTC, weights lb, pressures psi as the sensors show them. */
const units = z.array(typedName).min(1).max(8)

const prepareInput = z.object({ units })

/** The facts of `judgeWeighIn`, and the groups to type a weight for, in coupling order. */
export const prepared = z.object({
  histories: z.custom<readonly GroupHistory[]>(Array.isArray),
  scales: z.custom<readonly ScaleFacts[]>(Array.isArray),
  rules: z.custom<HouseRules>((value) => typeof value === 'object' && value !== null),
  /** As `figuresToText` writes them; null before the fleet was ever judged. */
  figures: z.string().nullable(),
  units: z.array(
    z.object({
      unit: z.string(),
      kind: z.enum(unitKinds),
      groups: z.array(
        z.object({ groupId: z.number(), group: z.string(), role: z.enum(groupRoles), sensed: z.boolean() }),
      ),
    }),
  ),
  /** Elevation of the yard of the unit at the head, ft. */
  headYardFt: z.number().nullable(),
})
export type PreparedWeighIn = z.infer<typeof prepared>

const weighInTicket = z.object({
  ticket: newName,
  weighedAt: typedInstant,
  grossLb: within(ranges.grossLb, 'weight').nullable(),
  weights: z
    .array(z.object({ unit: typedName, group: typedName, weightLb: within(ranges.weightLb, 'weight') }))
    .max(60),
  /** Two groups of a unit that stood on one platform: one weight for both, and none for either alone. */
  together: z
    .array(
      z.object({
        unit: typedName,
        groups: z.tuple([typedName, typedName]),
        weightLb: within(ranges.weightLb, 'weight'),
      }),
    )
    .max(30)
    .default([]),
  /** Who drove, where somebody says so. */
  driver: typedName.nullable().default(null),
  /** Where it was loaded, where somebody says so. */
  lane: typedName.nullable().default(null),
  reading: noted.omit({ driver: true, lane: true }).nullable(),
})

export const saveWeighInInput = z
  .object({
    units,
    /** null where nothing was weighed. */
    scale: typedName.nullable(),
    localZone: z.string().max(100).nullable(),
    tickets: z.array(weighInTicket).max(20),
    /** Without a ticket. */
    readings: z
      .array(noted.extend({ takenAt: typedInstant }))
      .max(20)
      .default([]),
    /** The groups whose tickets and readings become a calibration. */
    calibrate: z.array(z.object({ unit: typedName, group: typedName })).max(60),
    by: typedName,
    sent: sent.optional(),
  })
  .refine(({ tickets, readings }) => tickets.length + readings.length > 0, {
    path: ['tickets'],
    error: () => phrase('At least one ticket or reading is needed'),
  })
export type SaveWeighInInput = z.infer<typeof saveWeighInInput>
/** The ids of the tickets, the names of their readings, and of those without a ticket. */
const savedWeighIn = z.object({
  tickets: z.array(z.number()),
  readings: z.array(z.string().nullable()),
  alone: z.array(z.string()),
  calibrations: z.number(),
  clockOffMs,
})

const id = z.number().int().min(1)
/**
 * What a calibration of stored tickets can be made of: the facts of `judgeRecorded`, and what people call each reading.
 */
export const recorded = prepared.extend({
  names: z.array(z.object({ readingId: id, reading: z.string(), ticketId: id, ticket: z.string() })),
})
export type RecordedEvidence = z.infer<typeof recorded>
export const calibrateInput = z.object({
  unit: typedName,
  group: typedName,
  /** Readings on record, by id; each brings the ticket that it was taken for. */
  readings: z.array(id).max(100),
  by: typedName,
})

const voidInput = z.object({ id: z.number().int(), reason: z.string().trim().min(1).max(2000), by: typedName })

export const weighInContract = {
  prepare: base.input(prepareInput).output(prepared),
  /** Tickets, readings and calibrations of one visit: all of them or none. */
  save: base.input(saveWeighInInput).output(savedWeighIn),
  recorded: base.input(z.object({ unit: typedName })).output(recorded),
  /** A calibration of tickets and readings that are stored already. */
  calibrate: base.input(calibrateInput).output(z.object({ calibratedAt: z.string() })),
  voidCalibration: base.input(voidInput).output(z.object({ voided: z.literal(true) })),
}
