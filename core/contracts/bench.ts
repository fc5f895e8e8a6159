import { z } from 'zod'
import { workKinds } from '#core/bench/visits.ts'
import { cellStates } from '#core/cells/outlook.ts'
import { findingCodes } from '#core/findings/finding.ts'
import { loads } from '#core/words/sentences/weigh-next.ts'
import { batteryReasons } from '#core/words/vocabulary.ts'
import { base, typedDay, day, instant, name, person } from '#core/contracts/base.ts'

/** What the Shop Bench asks and is told; times UTC, days YYYY-MM-DD, chances 0 to 1. */
/** When a visit starts: today, in the rest of this week (through Sunday), or later. */
const visitTimes = ['today', 'this week', 'later'] as const
export type VisitTime = (typeof visitTimes)[number]

const benchItem = z.object({
  /** The same while the evidence behind it is the same. */
  id: z.string(),
  kind: z.enum(workKinds),
  what: z.string(),
  group: z.string().nullable(),
  circuit: z.string().nullable(),
  /** Of a cell's sensor. */
  serial: z.string().nullable(),
  cell: z.string().nullable(),
  /** Of a cell: chance that it dies before the unit's next visit. */
  risk: z.number().nullable(),
  /** Of a cell: why it most likely comes out; what a recorded swap says unless a person knows better. */
  reason: z.enum(batteryReasons).nullable(),
  /** Of a repair. */
  code: z.enum(findingCodes).nullable(),
  dueOn: day,
  minutes: z.number(),
})
export type BenchItemView = z.infer<typeof benchItem>

const benchVisit = z.object({
  yard: z.string().nullable(),
  unit: z.string(),
  when: z.enum(visitTimes),
  /** Later than `day` when the unit stays overnight. */
  day,
  untilDay: day,
  dueOn: day,
  minutes: z.number(),
  /** The planned visit that it uses; null: the unit has to be called in. */
  plannedOn: day.nullable(),
  /** The planned visit it should have used, whose day was full or not worked. */
  missedPlannedOn: day.nullable(),
  lateDays: z.number(),
  /** Why it is late, in a sentence; null in time. */
  problem: z.string().nullable(),
  items: z.array(benchItem),
})
export type BenchVisitView = z.infer<typeof benchVisit>

const plannedVisit = z.object({ id: z.number(), unit: z.string(), yard: z.string().nullable(), on: day })
const contradiction = z.object({ serial: z.string(), at: instant, message: z.string() })

const days = z.number().int().min(1).max(365)
const benchPlanInput = z
  .object({
    /** Days to plan from today; the House Rules' where it is left out. */
    days: days.optional(),
  })
  .optional()

export const benchPlan = z.object({
  asOf: instant,
  firstDay: day,
  lastDay: day,
  /** By yard, then day, then the order in which to do them. */
  visits: z.array(benchVisit),
  /** Bench minutes of each yard that has visits, and how many are taken, for each worked day of the plan. */
  benches: z.array(
    z.object({ yard: z.string().nullable(), days: z.array(z.object({ day, minutes: z.number(), used: z.number() })) }),
  ),
  /**
   * What cannot be met: visits that are late, longest first, and those for which the yard has no bench time (day null).
   */
  notMet: z.array(
    z.object({
      unit: z.string(),
      yard: z.string().nullable(),
      dueOn: day,
      day: day.nullable(),
      because: z.enum(['date already past', 'no room before its date', 'no bench time']),
      message: z.string(),
    }),
  ),
  plannedVisits: z.array(plannedVisit),
  /** Records of cells that contradict each other. */
  contradictions: z.array(contradiction),
  /** Mounted sensors without any recorded change: their cells are counted from the mounting. */
  assumedCells: z.number(),
  yards: z.array(z.string()),
})
export type BenchPlanView = z.infer<typeof benchPlan>

const unitWorkInput = z.object({ unit: name })
export const unitWork = z.object({
  unit: z.string(),
  yard: z.string().nullable(),
  retired: z.boolean(),
  /**
   * Everything the record asks for, earliest due first; visitOn: the day on which the plan does it, null where no visit
   * does yet.
   */
  items: z.array(benchItem.extend({ visitOn: day.nullable() })),
  cells: z.array(
    z.object({
      serial: z.string(),
      group: z.string(),
      circuit: z.string(),
      cell: z.string().nullable(),
      reportEveryS: z.number().nullable(),
      installedOn: day,
      installAssumed: z.boolean(),
      ageDays: z.number(),
      swapBy: day,
      predictedEndOn: day,
      nextVisitOn: day,
      visitAssumed: z.boolean(),
      risk: z.number(),
      state: z.enum(cellStates),
      /** Since when its sensor has been silent, most likely since the cell died; null while it is thought alive. */
      deadSince: day.nullable(),
    }),
  ),
  /** How each kind of work is done, in order. */
  steps: z.record(z.enum(workKinds), z.array(z.string())),
  cautions: z.array(z.string()),
  plannedVisits: z.array(plannedVisit),
  contradictions: z.array(contradiction),
})
export type UnitWorkView = z.infer<typeof unitWork>

export const weighNext = z.object({
  asOf: instant,
  /** The trips to the scale that teach most, one a unit, at most ten; none where none teaches anything to speak of. */
  trips: z.array(
    z.object({
      unit: z.string(),
      yard: z.string().nullable(),
      load: z.enum(loads),
      scale: z.string(),
      /** Share of the tolerance that its groups regain together: by how much their 95 % half-widths fall. */
      regained: z.number(),
      /** Worth sending the unit for; else to be weighed when it passes a scale anyway. */
      worthTrip: z.boolean(),
      /** Standard uncertainties of the best weight at the limit, lb. */
      groups: z.array(
        z.object({
          group: z.string(),
          how: z.string(),
          uNowLb: z.number(),
          uAfterLb: z.number(),
          /** `± 1,420 lb becomes ± 980 lb at the limit`. */
          taught: z.string(),
          why: z.string(),
        }),
      ),
    }),
  ),
})
export type WeighNextView = z.infer<typeof weighNext>

export const markSwappedInput = z.object({
  serials: z.array(name).min(1).max(5000),
  /** Not later than today. */
  on: typedDay,
  /** Type of the new cell; null: the one recorded for the sensor. */
  cell: z.string().trim().min(1).max(200).nullable(),
  reason: z.enum(batteryReasons),
  by: person,
})
const markSwapped = z.object({ swapped: z.number() })

const addVisitInput = z.object({ unit: name, yard: name.nullable(), on: typedDay, by: person })
const addVisitsInput = z.object({
  /** A CSV text with the columns unit, yard, date. */
  csv: z.string().min(1).max(5_000_000),
  by: person,
})
export const addedVisits = z.discriminatedUnion('outcome', [
  z.object({ outcome: z.literal('stored'), added: z.number() }),
  z.object({
    outcome: z.literal('refused'),
    problems: z.array(z.object({ line: z.number().nullable(), column: z.string().nullable(), message: z.string() })),
    more: z.boolean(),
  }),
])
export type AddedVisits = z.infer<typeof addedVisits>
const removeVisitInput = z.object({ id: z.number().int(), by: person })

/** A curve as columns: days and, at each, the share alive with its 95 % band (null: not defined once none is left). */
const curve = z.object({
  days: z.array(z.number()),
  alive: z.array(z.number()),
  lower: z.array(z.number().nullable()),
  upper: z.array(z.number().nullable()),
})

export const benchLives = z.object({
  asOf: instant,
  confidence: z.number(),
  strata: z.array(
    z.object({
      cell: z.string().nullable(),
      reportEveryS: z.number().nullable(),
      /** In service today; lives on record, of which died and were swapped because they reported low. */
      sensors: z.number(),
      lives: z.number(),
      died: z.number(),
      low: z.number(),
      /** Characteristic life (63 % are dead by then) with its 95 % interval, days; shape of the Weibull law. */
      lifeDays: z.number(),
      lifeLowDays: z.number(),
      lifeHighDays: z.number(),
      shape: z.number(),
      /** Of the Kaplan-Meier curve; null: it does not come down to half. */
      medianDays: z.number().nullable(),
      /**
       * Age of a fresh cell at which the House Rules' risk is reached, and by which half are dead, under the law and
       * its uncertainty.
       */
      swapAgeDays: z.number(),
      predictedLifeDays: z.number(),
      observed: curve,
      law: curve,
    }),
  ),
})
export type BenchLivesView = z.infer<typeof benchLives>

const yearly = z.object({
  reportEveryS: z.number().nullable(),
  swapAgeDays: z.number(),
  cells: z.number(),
  deaths: z.number(),
})

export const benchCost = z.object({
  asOf: instant,
  /** Oldest first; avoided: expected deaths, had the swapped cells stayed for one more visit interval. */
  months: z.array(z.object({ month: z.string(), swaps: z.number(), deaths: z.number(), deathsAvoided: z.number() })),
  riskPercent: z.number(),
  /**
   * What one sensor takes a year at its interval and at faster ones: cells, and deaths among them, each a visit nobody
   * planned.
   */
  intervals: z.array(
    z.object({ cell: z.string().nullable(), sensors: z.number(), now: yearly, faster: z.array(yearly) }),
  ),
})
export type BenchCostView = z.infer<typeof benchCost>

export const benchListInput = z.object({
  /** Only this yard; null: units without one; all yards where it is left out. */
  yard: name.nullable().optional(),
  when: z.enum(['today', 'this week', 'all']).default('all'),
  days: days.optional(),
})
const benchText = z.object({ fileName: z.string(), text: z.string() })

export const benchContract = {
  plan: base.input(benchPlanInput).output(benchPlan),
  unitWork: base.input(unitWorkInput).output(unitWork),
  weighNext: base.output(weighNext),
  /** All of them or none. */
  markSwapped: base.input(markSwappedInput).output(markSwapped),
  addVisit: base.input(addVisitInput).output(z.object({ added: z.boolean() })),
  /** All rows or none. */
  addVisits: base.input(addVisitsInput).output(addedVisits),
  removeVisit: base.input(removeVisitInput).output(z.object({ removed: z.literal(true) })),
  lives: base.output(benchLives),
  cost: base.output(benchCost),
  workListPdf: base.input(benchListInput).output(z.file()),
  calendar: base.input(benchListInput).output(benchText),
  csv: base.input(benchListInput).output(benchText),
}
