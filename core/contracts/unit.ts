import { z } from 'zod'
import { base, day, dismissed, instant, offeredFix, person, trust } from '#core/contracts/base.ts'
import { changeKinds } from '#core/evidence/state/series.ts'
import { findingCodes, trustStates } from '#core/findings/finding.ts'
import { eventKinds, groupRoles, liftStates, measures, unitKinds } from '#core/words/vocabulary.ts'

const severity = z.enum(['stop', 'warn', 'note'])

const finding = z.object({
  /** Of the stored assessment: good for setting the finding aside until the next one. */
  id: z.number(),
  code: z.enum(findingCodes),
  severity,
  group: z.string().nullable(),
  circuit: z.string().nullable(),
  scale: z.string().nullable(),
  ticket: z.string().nullable(),
  ticketId: z.number().nullable(),
  fix: offeredFix.nullable(),
  since: instant.nullable(),
  numbers: z.record(z.string(), z.union([z.number(), z.string(), z.null()])),
  message: z.string(),
  nextStep: z.string(),
})
export type FindingView = z.infer<typeof finding>

/** One unit on the Roster: the trust of its worst group and what is due first. */
export const rosterRow = z.object({
  unitId: z.number(),
  unit: z.string(),
  kind: z.enum(unitKinds),
  make: z.string().nullable(),
  model: z.string().nullable(),
  modelYear: z.number().nullable(),
  yard: z.string().nullable(),
  retired: z.boolean(),
  /** null: the unit has no sensed group. */
  trust: trust.nullable(),
  groups: z.number(),
  worstFinding: z.enum(findingCodes).nullable(),
  findingCodes: z.array(z.enum(findingCodes)),
  /** Of the group calibrated longest ago. */
  calibratedAt: instant.nullable(),
  dueOn: day.nullable(),
  /** Largest standard uncertainty at the limit among the groups, lb. */
  uLimitLb: z.number().nullable(),
  /** Oldest cell among the unit's mounted sensors. */
  cellSince: instant.nullable(),
})
export type RosterRow = z.infer<typeof rosterRow>

const line = z.object({ a: z.number(), b: z.number(), uA: z.number(), uB: z.number(), covAB: z.number() })

const linePoint = z.object({
  ticket: z.string(),
  ticketId: z.number().nullable(),
  scale: z.string(),
  reading: z.string(),
  weighedAt: instant,
  psi: z.number(),
  uPsi: z.number(),
  weightLb: z.number(),
  uLb: z.number(),
})

const calibration = z.object({
  id: z.number(),
  calibratedAt: instant,
  calibratedBy: z.string().nullable(),
  voidedAt: instant.nullable(),
  voidReason: z.string().nullable(),
  current: z.boolean(),
  /** null: the points do not make a line; `problem` says why. */
  line: line.nullable(),
  chi2: z.number().nullable(),
  chi2Limit95: z.number().nullable(),
  dof: z.number().nullable(),
  widenedBy: z.number().nullable(),
  problem: z.string().nullable(),
  points: z.array(linePoint),
})
export type CalibrationView = z.infer<typeof calibration>

/** One check weighing of a line: its miss of what was expected, of the line, and the sums of misses after it. */
const check = z.object({
  at: instant,
  ticket: z.string(),
  ticketId: z.number().nullable(),
  scale: z.string(),
  psi: z.number(),
  weightLb: z.number(),
  missLb: z.number(),
  uMissLb: z.number(),
  z: z.number(),
  missed: z.boolean(),
  /** The slip that explains the miss, if one does. */
  slip: z.enum(['digits-transposed', 'groups-swapped', 'wrong-pressure-unit']).nullable(),
  /** Scale less what the line in use reads, lb. */
  offLineLb: z.number(),
  /** The check moved along the line to the fixed pressure of the track, lb. */
  atFixedLb: z.number(),
  cusumHigh: z.number(),
  cusumLow: z.number(),
})

/** One weight of this group and another on one platform, held against both best weights; lb. */
const sum = z.object({
  at: instant,
  ticketId: z.number(),
  ticket: z.string(),
  scale: z.string(),
  withGroup: z.string(),
  sumLb: z.number(),
  expectedLb: z.number(),
  /** What it leaves for this group once the other's best weight is taken off. */
  leftLb: z.number(),
  missLb: z.number(),
  uMissLb: z.number(),
  /** Both have been weighed apart since. */
  answered: z.boolean(),
})
export type SumView = z.infer<typeof sum>

/**
 * The track of a group: the weight that its circuit stands for at one fixed pressure, as the evidence tells it over
 * time.
 */
const track = z.object({
  fixedPsi: z.number(),
  toleranceLb: z.number(),
  cusumLimit: z.number(),
  /** Checks, on average, from one false alarm of the CUSUM to the next. */
  checksToFalseAlarm: z.number(),
  lives: z.array(
    z.object({
      calibrationId: z.number(),
      startedAt: instant,
      endedAt: instant.nullable(),
      brokenAt: instant.nullable(),
      /** What the line itself reads at the fixed pressure, lb. */
      lineLb: z.number(),
      /** The best weight of the fixed pressure with its standard uncertainty, oldest first. */
      states: z.array(z.object({ at: instant, weightLb: z.number(), u: z.number() })),
      checks: z.array(check),
      /** Place of the check from which the present alarm built up; null while there is none. */
      alarmFrom: z.number().nullable(),
      /** What changed since the calibration, when most probably, and the 95 % interval of that; null while it holds. */
      change: z
        .object({ kind: z.enum(changeKinds), probability: z.number(), at: instant, from: instant, until: instant })
        .nullable(),
    }),
  ),
  /** Standard uncertainty at the limit over the coming days, lb. */
  forecast: z.array(z.object({ at: instant, u: z.number() })),
  allowedULb: z.number(),
})
export type TrackView = z.infer<typeof track>

/** How far a calibration lies from the line before it: the as-found error of the recalibration. */
const asFound = z.object({
  calibrationId: z.number(),
  beforeId: z.number(),
  atEmptyLb: z.number(),
  uEmptyLb: z.number(),
  atLimitLb: z.number(),
  uLimitLb: z.number(),
  chi2: z.number(),
})

const sensor = z.object({
  serial: z.string(),
  reference: z.enum(['gauge', 'absolute']),
  mountedAt: instant,
  removedAt: instant.nullable(),
  cell: z.string().nullable(),
  cellSince: instant.nullable(),
  reportEveryS: z.number().nullable(),
  rangePsi: z.number().nullable(),
  resolutionPsi: z.number().nullable(),
  accuracyPsi: z.number().nullable(),
})

const loadTo = z.union([z.object({ psi: z.number() }), z.object({ why: z.string() })])

const group = z.object({
  id: z.number(),
  name: z.string(),
  role: z.enum(groupRoles),
  axles: z.number(),
  firstAxleFt: z.number().nullable(),
  axleSpacingFt: z.number().nullable(),
  limitLb: z.number(),
  limitRecorded: z.boolean(),
  measuredBy: z.enum(measures).nullable(),
  sensed: z.boolean(),
  trust: trust.nullable(),
  calibratedAt: instant.nullable(),
  ageDays: z.number().nullable(),
  dueOn: day.nullable(),
  uLimitLb: z.number().nullable(),
  toleranceLb: z.number(),
  /** Where the line reads the limit. */
  limitPsi: z.object({ value: z.number(), u: z.number() }).nullable(),
  /** The one pressure to load to, today and by all evidence, or why there is none; null of a group without a gauge. */
  loadTo: loadTo.nullable(),
  /**
   * What the line lies off the best weight at the limit, line less best, with the standard uncertainty of the best, lb;
   * null where that is within its 95 %. Then `uLimitLb`, which holds both, is no 95 % interval.
   */
  limitOff: z.object({ offLb: z.number(), uLb: z.number() }).nullable(),
  /** Its lines in use, each judged for itself: more than one where lift states have their own. */
  standings: z.array(
    z.object({
      calibrationId: z.number(),
      /** null: any state; 'both': its points mix the states, so that it weighs in none. */
      lift: z.enum(['raised', 'lowered', 'both']).nullable(),
      trust,
      calibratedAt: instant,
      ageDays: z.number(),
      dueOn: day,
      uLimitLb: z.number().nullable(),
      loadTo,
    }),
  ),
  /** What one weighing would bring, in a sentence; null where none is worth its trip. */
  weighNext: z.string().nullable(),
  track: track.nullable(),
  /** What weights of two groups on one platform make of its lines in use, newest first. */
  sums: z.array(sum),
  asFound: z.array(asFound),
  calibrations: z.array(calibration),
  circuits: z.array(
    z.object({
      name: z.string(),
      airSprings: z.number().nullable(),
      springAreaIn2: z.number().nullable(),
      rideHeightIn: z.number().nullable(),
      sensors: z.array(sensor),
    }),
  ),
})
export type GroupView = z.infer<typeof group>

const unitSheet = z.object({
  asOf: instant,
  unit: z.object({
    number: z.string(),
    kind: z.enum(unitKinds),
    vin: z.string().nullable(),
    plate: z.string().nullable(),
    plateRegion: z.string().nullable(),
    make: z.string().nullable(),
    model: z.string().nullable(),
    modelYear: z.number().nullable(),
    yard: z.string().nullable(),
    grossLimitLb: z.number().nullable(),
    fifthWheelFt: z.number().nullable(),
    retired: z.boolean(),
  }),
  groups: z.array(group),
  findings: z.array(finding),
  /** Findings that were set aside, newest first, whether or not the same evidence still stands. */
  setAside: z.array(dismissed),
  events: z.array(
    z.object({
      group: z.string().nullable(),
      circuit: z.string().nullable(),
      happenedAt: instant,
      kind: z.enum(eventKinds),
      note: z.string().nullable(),
    }),
  ),
  /** Of its loads, as they are weighed so far: how many verdicts are others than when they were shown. */
  changedVerdicts: z.int().min(0),
  /** The newest readings of the unit, newest first, at most 50. */
  readings: z.array(
    z.object({
      reading: z.string(),
      readingId: z.number(),
      takenAt: instant,
      ticket: z.string().nullable(),
      ticketId: z.number().nullable(),
      scale: z.string().nullable(),
      lift: z.enum(liftStates).nullable(),
      pressures: z.array(z.object({ group: z.string(), circuit: z.string(), psi: z.number() })),
      /** What each group weighed by all evidence of today, lb, k = 1; those that cannot be told are left out. */
      weights: z.array(z.object({ group: z.string(), weightLb: z.number(), uLb: z.number() })),
    }),
  ),
})
export type UnitSheetView = z.infer<typeof unitSheet>

const rosterSorts = ['unit', 'trust', 'finding', 'age', 'due', 'uncertainty', 'cell', 'yard', 'model', 'match'] as const
export type RosterSort = (typeof rosterSorts)[number]

/** What narrows the Roster; `trust` beside the counts of every state. */
const rosterFilter = z.object({
  text: z.string().max(200).optional(),
  trust: z.array(trust).max(trustStates.length).optional(),
  kind: z.enum(unitKinds).optional(),
  yard: z.string().max(200).optional(),
  finding: z.enum(findingCodes).optional(),
  /** Retired units too; the default. */
  retired: z.boolean().optional(),
})
const rosterOrder = rosterFilter.extend({
  /** The default: by number. */
  sort: z.enum(rosterSorts).optional(),
  descending: z.boolean().optional(),
})
export type RosterOrderInput = z.infer<typeof rosterOrder>

/** The largest page, so that no answer is over 200 kB. */
export const mostRosterRows = 200
const rosterListInput = rosterOrder.extend({
  offset: z.number().int().min(0).max(10_000_000).optional(),
  limit: z.number().int().min(1).max(mostRosterRows).optional(),
  /** A unit whose place among those of the list is asked for. */
  at: z.string().max(200).optional(),
})
export type RosterListInput = z.infer<typeof rosterListInput>

export const rosterCounts = z.object({
  trust: z.record(trust, z.number()),
  /** Units without a sensed group. */
  notSensed: z.number(),
})
export type RosterCounts = z.infer<typeof rosterCounts>

const rosterList = z.object({
  asOf: instant.nullable(),
  rows: z.array(rosterRow),
  /** Units that the filter leaves, and units of the fleet. */
  total: z.number(),
  all: z.number(),
  /** Units that each state would show, with every other filter as it is. */
  counts: rosterCounts,
  place: z.number().nullable(),
  /** What the Roster can be narrowed to. */
  choices: z.object({ yards: z.array(z.string()), findings: z.array(z.enum(findingCodes)), retired: z.boolean() }),
})
export type RosterList = z.infer<typeof rosterList>

/** As many as a fleet has units; a page of paper takes fewer. */
export const mostRosterUnits = 100_000
/** As many cab cards go into one file. */
export const mostCabCards = 500

export const rosterContract = {
  /** A page of the Roster. */
  list: base.input(rosterListInput.optional()).output(rosterList),
  /** The numbers of the sensed units that a filter leaves, as many as go into one file of cab cards. */
  sensed: base.input(rosterOrder).output(z.array(z.string())),
  /** The units that a filter leaves, in their order, as a spreadsheet or to print. */
  export: base.input(rosterOrder.extend({ format: z.enum(['spreadsheet', 'pdf']) })).output(z.file()),
}

export const unitContract = {
  sheet: base.input(z.object({ unit: z.string().min(1).max(200) })).output(unitSheet),
}

export const findingContract = {
  dismiss: base
    .input(z.object({ id: z.number().int(), reason: z.string().trim().min(1).max(2000), by: person }))
    .output(z.object({ dismissed: z.literal(true) })),
}
