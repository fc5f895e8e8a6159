import { phrase } from '#core/words/phrase.ts'
import { z } from 'zod'
import { within } from '#core/contracts/within.ts'
import { trustStates } from '#core/findings/finding.ts'
import type { WeighFacts } from '#core/weight/weigher.ts'
import { liftStates, ranges, unitKinds } from '#core/words/vocabulary.ts'
import { mostCabCards } from '#core/contracts/unit.ts'
import { base, name, instant, typedInstant, person, typedName } from '#core/contracts/base.ts'
import { clockOffMs, sent } from '#core/contracts/sent.ts'

/** What Weigh now asks and is told; times UTC, weights lb, pressures psi as the sensors show them. */

const pickInput = z
  .object({
    /** Words of a number, a yard or what a unit is; left out: the first by number. */
    text: z.string().max(200).optional(),
    /** Numbers of units that are told as well, whatever the text, as those that are chosen. */
    units: z.array(name).max(8).optional(),
  })
  .optional()

export const pickUnits = z.object({
  /** In service: those that the text finds, the best answer first, as many leads and trailers as a list shows. */
  units: z.array(
    z.object({
      unit: z.string(),
      kind: z.enum(unitKinds),
      yard: z.string().nullable(),
      groups: z.number(),
      sensed: z.number(),
    }),
  ),
  /** Whether these are all units that there are to be put together. */
  whole: z.boolean(),
  /** The combination that each of those tractors and trucks was last weighed in, itself first. */
  usual: z.array(z.object({ unit: z.string(), units: z.array(z.string()), on: z.string() })),
  /** Whether the House Rules let drivers be named on screens. */
  namesDrivers: z.boolean(),
})
export type PickUnits = z.infer<typeof pickUnits>

/** Units to be put together, in any order; or a reading of the record to look at again. */
const previewInput = z.union([z.object({ units: z.array(name).min(1).max(8) }), z.object({ reading: name })])

const storedReading = z.object({
  reading: z.string(),
  takenAt: instant,
  elevationFt: z.number().nullable(),
  temperatureF: z.number().nullable(),
  lift: z.enum(liftStates).nullable(),
  note: z.string().nullable(),
  pressures: z.array(z.object({ groupId: z.number(), psi: z.array(z.number().nullable()) })),
  ticket: z
    .object({ scaleId: z.number(), weights: z.array(z.object({ groupId: z.number(), weightLb: z.number() })) })
    .nullable(),
})

/**
 * Everything to weigh a combination with in the window while typing: `weigherOf(facts).ready(unitIds)`, then
 * `weighReading`, `cargoAt`, `loadToOf` and `judgedSet` of core/weight. Circuits and their sensors stand in the
 * histories.
 */
export const preview = z.object({
  facts: z.custom<WeighFacts>((value) => typeof value === 'object' && value !== null),
  /** In coupling order. */
  unitIds: z.array(z.number()),
  /** Of the yard of the unit at the head: where absolute sensors are taken to be until another elevation is typed. */
  elevationFt: z.number().nullable(),
  trusts: z.array(z.object({ groupId: z.number(), trust: z.enum(trustStates), dueOn: z.string().nullable() })),
  reading: storedReading.nullable(),
})
export type WeighPreview = z.infer<typeof preview>

/** What was noted at one moment. */
export const noted = z.object({
  elevationFt: within(ranges.elevationFt, 'elevation').nullable(),
  temperatureF: within(ranges.temperatureF, 'temperature').nullable(),
  lift: z.enum(liftStates).nullable(),
  /** Who drove, where somebody says so. */
  driver: typedName.nullable().default(null),
  /** Where it was loaded, where somebody says so. */
  lane: typedName.nullable().default(null),
  pressures: z
    .array(z.object({ unit: typedName, group: typedName, circuit: typedName, psi: within(ranges.psi, 'pressure') }))
    .min(1, { error: () => phrase('At least one pressure is needed') })
    .max(100),
})
export const saveReadingInput = noted.extend({
  units: z.array(name).min(1).max(8),
  takenAt: typedInstant,
  /** IANA name of the zone in which the time was typed. */
  localZone: z.string().max(100).nullable(),
  note: z.string().trim().max(2000).nullable(),
  by: person,
  sent: sent.optional(),
})
export type SaveReadingInput = z.infer<typeof saveReadingInput>
const savedReading = z.object({ reading: z.string(), clockOffMs })

const cabCardInput = z.object({
  units: z
    .array(name)
    .min(1)
    .max(mostCabCards, {
      error: () => phrase('At most {most} units go into one file', { most: mostCabCards }),
    }),
})

export const weighContract = {
  combinations: base.input(pickInput).output(pickUnits),
  preview: base.input(previewInput).output(preview),
  save: base.input(saveReadingInput).output(savedReading),
}

export const cabCardContract = {
  /** One PDF, a page a unit. */
  make: base.input(cabCardInput).output(z.file()),
}
