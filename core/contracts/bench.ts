import { z } from 'zod'
import { visitTimes } from '#core/bench/bench-days.ts'
import { stepScreens } from '#core/bench/steps.ts'
import { workKinds } from '#core/bench/visits.ts'
import { benchCounts } from '#core/bench/yard-bench.ts'
import { cellStates } from '#core/cells/outlook.ts'
import { findingCodes } from '#core/findings/finding.ts'
import { loads } from '#core/words/sentences/weigh-next.ts'
import { batteryReasons, ranges } from '#core/words/vocabulary.ts'
import { closedReasons } from '#core/words/work-days.ts'
import { base, day, editing, instant, name, person, typedDay, typedMonth, typedName } from '#core/contracts/base.ts'

/** What the Shop Bench asks and is told; times UTC, days YYYY-MM-DD, chances 0 to 1. */
const benchItem = z.object({
  /** The same while the evidence behind it is the same. */
  id: z.string(),
  kind: z.enum(workKinds),
  what: z.string(),
  /** Why it is to be done, and what to do next, in a sentence each. */
  why: z.string(),
  next: z.string(),
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
  /** To be done at once: 'now' is said for the day then, as on the Roster and the Unit sheet. */
  dueNow: z.boolean(),
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
  /** To be done at once: 'now' is said for the day then, as on the Roster and the Unit sheet. */
  dueNow: z.boolean(),
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
/** Which visits of the plan are listed. */
const listedVisits = {
  /** Only of this yard; null: of units without one; of all yards where it is left out. */
  yard: name.nullable().optional(),
  when: z.enum(['today', 'this week', 'all']).default('all'),
  /** Days to plan from today; the House Rules' where it is left out. */
  days: days.optional(),
}
const pageOf = (most: number) => ({
  offset: z.number().int().min(0).max(1_000_000).default(0),
  limit: z.number().int().min(1).max(most).default(most),
})
const benchPlanInput = z.object({ ...listedVisits, ...pageOf(100) }).optional()

/** Why the plan cannot meet a date. */
export const notMetReasons = ['date already past', 'no room before its date', 'no bench time'] as const

export const benchPlan = z.object({
  asOf: instant,
  firstDay: day,
  lastDay: day,
  /** What all benches do on their next day: when that is, in words, how many visits, and cells to swap at them. */
  next: z.object({ when: z.string(), visits: z.number(), cells: z.number() }),
  /** A page of those listed: by yard, then day, then the order in which to do them. */
  visits: z.array(benchVisit),
  /** How many are listed. */
  total: z.number(),
  /** Why none is listed, in sentences; null where some are. */
  whyEmpty: z.string().nullable(),
  /** Room of the bench of each listed yard that has visits, and how much is taken, for each worked day of the plan. */
  benches: z.array(
    z.object({
      yard: z.string().nullable(),
      counts: z.enum(benchCounts),
      days: z.array(z.object({ day, room: z.number(), used: z.number() })),
    }),
  ),
  /**
   * Of each listed yard, and of units without one where they have visits: whether its bench works today, and when next.
   */
  benchDays: z.array(
    z.object({
      yard: z.string().nullable(),
      closed: z.enum(closedReasons).nullable(),
      next: day.nullable(),
    }),
  ),
  /** Jobs of the listed yards whose day has passed. */
  overdue: z.number(),
  /**
   * What cannot be met there, by why: visits that are late, longest first, and those for which the yard has no bench
   * time (day null); the first of them.
   */
  notMet: z.array(
    z.object({
      because: z.enum(notMetReasons),
      visits: z.number(),
      first: z.array(
        z.object({
          unit: z.string(),
          yard: z.string().nullable(),
          dueOn: day,
          day: day.nullable(),
          message: z.string(),
        }),
      ),
    }),
  ),
  /** Records of cells that contradict each other: how many, and the first of them. */
  contradictions: z.object({ total: z.number(), first: z.array(contradiction) }),
  /** Mounted sensors without any recorded change: their cells are counted from the mounting. */
  assumedCells: z.number(),
  yards: z.array(z.string()),
})
export type BenchPlanView = z.infer<typeof benchPlan>

/** Visits that are planned from today on, by day: a page of them, and how many there are. */
const plannedVisits = z.object({ rows: z.array(plannedVisit), total: z.number() })

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
      /** Whether that day has come: it is to be swapped at once. */
      now: z.boolean(),
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
  steps: z.record(
    z.enum(workKinds),
    z.array(
      z.object({
        text: z.string(),
        /** The screen that does it, and the words of the text that lead there. */
        doneOn: z.object({ screen: z.enum(stepScreens), words: z.string() }).nullable(),
      }),
    ),
  ),
  cautions: z.array(z.string()),
  plannedVisits: z.array(plannedVisit),
  contradictions: z.array(contradiction),
})
export type UnitWorkView = z.infer<typeof unitWork>

/** A trip to the scale: what it would teach of each group of a unit. */
export const weighTrip = z.object({
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
})

export const weighNext = z.object({
  asOf: instant,
  /** The trips to the scale that teach most, one a unit, at most ten; none where none teaches anything to speak of. */
  trips: z.array(weighTrip),
})
export type WeighNextView = z.infer<typeof weighNext>

export const markSwappedInput = z.object({
  /** Each sensor once; the reason says why its old cell came out. */
  cells: z
    .array(z.object({ serial: name, reason: z.enum(batteryReasons) }))
    .min(1)
    .max(5000),
  /** Not later than today. */
  on: typedDay,
  /** Type of the new cell; null: the one recorded for the sensor. */
  cell: z.string().trim().min(1).max(200).nullable(),
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

/** How many cells: expected, and the range that holds it in eight cases of ten. */
const cellCount = z.object({ expected: z.number(), low: z.number(), high: z.number() })
const benchOrderInput = z
  .object({
    /** Last month to order for, YYYY-MM; the last one reckoned where it is left out or not among them. */
    through: typedMonth.optional(),
  })
  .optional()
export const benchOrder = z.object({
  asOf: instant,
  /** The rest of this month and the next six, YYYY-MM. */
  months: z.array(z.string()),
  /** The one that is ordered for. */
  through: z.string(),
  /** By yard, then cell type; of types in service or in stock. */
  rows: z.array(
    z.object({
      yard: z.string().nullable(),
      cell: z.string().nullable(),
      /** In service today. */
      cells: z.number(),
      /** Needed in each month, and from today through the last month ordered for. */
      months: z.array(cellCount),
      need: cellCount,
      /** As typed; null: nothing was. */
      onHand: z.number().nullable(),
      /** Enough for the high end of the need. */
      toOrder: z.number(),
      dollars: z.number(),
    }),
  ),
  /** By cell type; typed: null, the House Rules' price holds. */
  prices: z.array(
    z.object({
      cell: z.string().nullable(),
      typed: z.number().nullable(),
      dollars: z.number(),
      toOrder: z.number(),
      total: z.number(),
    }),
  ),
  dollars: z.number(),
  yards: z.array(z.string()),
})
export type BenchOrderView = z.infer<typeof benchOrder>

const typedCell = typedName.max(40)
const figure = (max: number) => z.number().min(0).max(max).nullable()
export const setStockInput = z.object({
  /** null: cells for units without a yard. */
  yard: name.nullable(),
  cell: typedCell,
  /** null: nothing is said of it. */
  onHand: figure(ranges.cellsOnHand.max).refine((value) => value === null || Number.isInteger(value)),
  /** What the person saw. */
  was: z.number().nullable(),
  by: person,
})
export const setPriceInput = z.object({
  cell: typedCell,
  /** null: the House Rules' price. */
  dollars: figure(ranges.cellDollars.max),
  was: z.number().nullable(),
  by: person,
})
export const orderFileInput = z.object({
  through: typedMonth.optional(),
  format: z.enum(['csv', 'spreadsheet', 'pdf']),
})

const yearly = z.object({
  reportEveryS: z.number().nullable(),
  swapAgeDays: z.number(),
  cells: z.number(),
  deaths: z.number(),
  /** Of one sensor: its cells, their swaps and its deaths. */
  dollars: z.number(),
})

export const benchCost = z.object({
  asOf: instant,
  /** Oldest first; avoided: expected deaths, had the swapped cells stayed for one more visit interval. */
  months: z.array(
    z.object({
      month: z.string(),
      swaps: z.number(),
      deaths: z.number(),
      deathsAvoided: z.number(),
      /** What the swaps and deaths cost, and what the deaths avoided would have cost beside their swaps. */
      dollars: z.number(),
      dollarsSpared: z.number(),
    }),
  ),
  /** What they are reckoned with: bench time of one swap, and a death beside that. */
  swapDollars: z.number(),
  deathDollars: z.number(),
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

export const benchListInput = z.object(listedVisits)
const benchText = z.object({ fileName: z.string(), text: z.string() })

export const benchContract = {
  plan: base.input(benchPlanInput).output(benchPlan),
  plannedVisits: base.input(z.object(pageOf(500)).optional()).output(plannedVisits),
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
  order: base.input(benchOrderInput).output(benchOrder),
  setStock: editing.input(setStockInput).output(z.object({ saved: z.literal(true) })),
  setPrice: editing.input(setPriceInput).output(z.object({ saved: z.literal(true) })),
  orderFile: base.input(orderFileInput).output(z.file()),
  workListPdf: base.input(benchListInput).output(z.file()),
  calendar: base.input(benchListInput).output(benchText),
  csv: base.input(benchListInput).output(benchText),
}
