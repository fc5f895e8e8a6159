import { eventIterator, oc } from '@orpc/contract'
import { z } from 'zod'
import { aboutFacts, supportBundleInput } from '#core/api/about-contract.ts'
import {
  addAttachmentInput,
  addedAttachment,
  attachmentInput,
  attachmentList,
  attachmentListInput,
  takeOffInput,
} from '#core/api/attachment-contract.ts'
import {
  addedVisits,
  addVisitInput,
  addVisitsInput,
  benchCost,
  benchListInput,
  benchLives,
  benchPlan,
  benchPlanInput,
  benchText,
  markSwapped,
  markSwappedInput,
  removeVisitInput,
  unitWork,
  unitWorkInput,
} from '#core/api/bench-contract.ts'
import { copiesList, copyName, copyVerdict, restored, restoreInput } from '#core/api/copies-contract.ts'
import {
  calibrationPage,
  corrected,
  correctInput,
  evidenceListInput,
  evidenceSheet,
  readingPage,
  sheetInput,
  ticketPage,
} from '#core/api/evidence-contract.ts'
import {
  copyUnitInput,
  countOnInput,
  fleetBasics,
  mountInput,
  retireInput,
  savedRecord,
  saveRecordInput,
  sensorListInput,
  sensorPage,
  unitRecord,
} from '#core/api/fleet-contract.ts'
import {
  bringInForeignInput,
  foreignOutcome,
  foreignPreview,
  foreignPreviewInput,
  removeMappingInput,
  savedMapping,
  saveMappingInput,
} from '#core/api/foreign-contract.ts'
import { importOutcome, importProgress } from '#core/api/import-contract.ts'
import {
  heavyExport,
  heavyExportInput,
  heavyListInput,
  heavyNoteInput,
  heavyPage,
  heavySpan,
  heavySummary,
} from '#core/api/heavy-contract.ts'
import {
  deskName,
  deskText,
  logExport,
  logFilter,
  logLast,
  logListInput,
  logPage,
  logUndoInput,
} from '#core/api/log-contract.ts'
import { typedPath } from '#core/api/typed-path.ts'
import {
  cabCardInput,
  pickUnits,
  preview,
  previewInput,
  savedReading,
  saveReadingInput,
} from '#core/api/weigh-contract.ts'
import { prepared, prepareInput, savedWeighIn, saveWeighInInput, voidInput } from '#core/api/weigh-in-contract.ts'
import { findingCodes, trustStates } from '#core/findings/finding.ts'
import { houseRuleNames } from '#core/fleet/house-rules.ts'
import { eventKinds, groupRoles, liftStates, measures, unitKinds } from '#core/fleet/vocabulary.ts'

/** What a person did wrong, as a typed error that every procedure may answer with. */
const base = oc.errors({
  REFUSED: {
    status: 422,
    data: z.object({ code: z.string(), field: z.string(), value: z.string(), accepted: z.string() }),
  },
})

const storedValue = z.union([z.string(), z.number(), z.null()])
/** A field as the person saw it, as it is stored by now, and as typed; columns and units as stored. */
const fieldConflict = z.object({ field: z.string(), was: storedValue, stored: storedValue, typed: storedValue })
export type FieldConflictView = z.infer<typeof fieldConflict>

/**
 * For procedures that change what people type: another window may have changed the same fields meanwhile; then nothing
 * is stored.
 */
const editing = base.errors({ CONFLICT: { status: 409, data: z.object({ fields: z.array(fieldConflict) }) } })

const severity = z.enum(['stop', 'warn', 'note'])
const trust = z.enum(trustStates)
const day = z.string()
const instant = z.string()

const finding = z.object({
  /** Of the stored assessment: good for setting the finding aside until the next one. */
  id: z.number(),
  code: z.enum(findingCodes),
  severity,
  group: z.string().nullable(),
  circuit: z.string().nullable(),
  scale: z.string().nullable(),
  ticket: z.string().nullable(),
  since: instant.nullable(),
  numbers: z.record(z.string(), z.union([z.number(), z.string(), z.null()])),
  message: z.string(),
  nextStep: z.string(),
})
export type FindingView = z.infer<typeof finding>

const dismissed = z.object({ at: instant, by: z.string(), message: z.string(), reason: z.string() })
export type DismissedView = z.infer<typeof dismissed>

/** One unit on the Roster: the trust of its worst group and what is due first. */
const rosterRow = z.object({
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

/** One check weighing of a line: its miss against the track, and the CUSUM after it. */
const check = z.object({
  at: instant,
  ticket: z.string(),
  scale: z.string(),
  psi: z.number(),
  weightLb: z.number(),
  missLb: z.number(),
  uMissLb: z.number(),
  z: z.number(),
  missed: z.boolean(),
  /** The slip that explains the miss, if one does. */
  slip: z.enum(['digits-transposed', 'groups-swapped', 'wrong-pressure-unit']).nullable(),
  /** The check moved along the line to the fixed pressure of the track, lb. */
  atFixedLb: z.number(),
  cusumHigh: z.number(),
  cusumLow: z.number(),
})

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
      /** The track with its standard uncertainty, oldest first. */
      states: z.array(z.object({ at: instant, weightLb: z.number(), u: z.number() })),
      checks: z.array(check),
      /** Place of the check from which the present alarm built up; null while there is none. */
      alarmFrom: z.number().nullable(),
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
  targetPsi: z.object({ value: z.number(), u: z.number() }).nullable(),
  track: track.nullable(),
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
  /** The newest readings of the unit, newest first, at most 50. */
  readings: z.array(
    z.object({
      reading: z.string(),
      takenAt: instant,
      ticket: z.string().nullable(),
      scale: z.string().nullable(),
      lift: z.enum(liftStates).nullable(),
      pressures: z.array(z.object({ group: z.string(), circuit: z.string(), psi: z.number() })),
    }),
  ),
})
export type UnitSheetView = z.infer<typeof unitSheet>

/**
 * Files picked in the window land in an inbox of the app (see the window's request handler); a path names a folder
 * here.
 */
const importSource = z.union([
  z.object({ inbox: z.string().regex(/^[a-z0-9-]{8,64}$/) }),
  z.object({ folder: typedPath }),
])

const fileState = z.object({
  file: z.string(),
  demo: z.boolean(),
  units: z.number(),
  version: z.string(),
  /** Counts committed changes; a screen asks again when it moves. */
  revision: z.number(),
  /** When the fleet was last judged; a screen asks again when it moves. */
  assessedAt: instant.nullable(),
  /** Why the day's copy could not be kept; null when it was. */
  copyFailure: z.string().nullable(),
})
export type FileState = z.infer<typeof fileState>

const scaleRow = z.object({
  scale: z.string(),
  divisionLb: z.number().nullable(),
  tolerancePercent: z.number().nullable(),
  elevationFt: z.number().nullable(),
  tickets: z.number(),
  /** Bias against the fleet, %; null while too little is known. */
  biasPercent: z.number().nullable(),
  uPercent: z.number().nullable(),
  weighings: z.number(),
  groups: z.number(),
  since: instant.nullable(),
  /** The finding that names it biased, if one does. */
  finding: z.object({ id: z.number(), message: z.string(), nextStep: z.string() }).nullable(),
})
export type ScaleRow = z.infer<typeof scaleRow>

const fleetFigure = z.object({ value: z.number(), u: z.number().nullable(), checks: z.number() })

const ruleRow = z.object({
  name: z.enum(houseRuleNames),
  label: z.string(),
  unit: z.string(),
  value: z.number(),
  default: z.number(),
  min: z.number(),
  max: z.number(),
  source: z.string(),
  /** Of a rule that is chosen: the words of the values 0, 1 and on. */
  choices: z.array(z.string()).readonly().nullable(),
  /** It says only how things are shown. */
  shownOnly: z.boolean(),
})
export type RuleRow = z.infer<typeof ruleRow>

/** What a rule's change would do to the fleet as it stands: nothing is stored. */
const ruleEffect = z.object({
  /** Groups that are judged. */
  groups: z.number(),
  /** How many groups would go from one trust to another, the most first. */
  moves: z.array(z.object({ from: trust, to: trust, groups: z.number() })),
  /** Findings whose number would change. */
  findings: z.array(z.object({ code: z.enum(findingCodes), before: z.number(), after: z.number() })),
})
export type RuleEffect = z.infer<typeof ruleEffect>

const person = z.string().trim().min(1).max(200)

/** The typed procedures: everything a screen can ask, pure data in and out, the same over both windows. */
export const contract = {
  about: {
    facts: base.output(aboutFacts),
    /** A ZIP file for whoever helps; without the fleet's data unless asked for. */
    supportBundle: base.input(supportBundleInput).output(z.file()),
  },
  file: {
    state: base.output(fileState),
    open: base.input(z.object({ path: typedPath })).output(fileState),
    openDemo: base.output(fileState),
  },
  copies: {
    list: base.output(copiesList),
    /** Reads one copy through. */
    check: base.input(copyName).output(copyVerdict),
    /** Keeps one more copy of the open file. */
    keep: base.output(copyName),
    /** Puts a copy in the place of the fleet file; what lies there is kept under another name. */
    restore: base.input(restoreInput).output(restored),
    /** Sets what lies under the name aside and starts an empty fleet file there; only where none can be opened. */
    startEmpty: base.output(restored),
  },
  roster: {
    list: base.output(z.object({ asOf: instant.nullable(), rows: z.array(rosterRow) })),
  },
  unit: {
    sheet: base.input(z.object({ unit: z.string().min(1).max(200) })).output(unitSheet),
  },
  log: {
    list: base.input(logListInput).output(logPage),
    export: base.input(logFilter).output(logExport),
    /** The last save that can be undone, or why it cannot. */
    last: base.output(logLast),
    /** Takes a save back, as a save of its own. */
    undo: base.input(logUndoInput).output(z.object({ undone: z.literal(true) })),
    /** Who has made changes, the latest first. */
    people: base.output(z.array(z.string())),
  },
  /** The record of the fleet itself, typed by hand. */
  fleet: {
    basics: base.output(fleetBasics),
    sensors: base.input(sensorListInput).output(sensorPage),
    unit: base.input(z.object({ unit: z.string().min(1).max(200) })).output(unitRecord),
    save: editing.input(saveRecordInput).output(savedRecord),
    /** Puts a sensor on a circuit, and takes off whatever that moves. */
    mount: editing.input(mountInput).output(z.object({ id: z.number() })),
    nextNumbers: base.input(countOnInput).output(z.array(z.string())),
    copyUnit: base.input(copyUnitInput).output(z.object({ added: z.array(z.string()) })),
    retire: editing.input(retireInput).output(z.object({ retired: z.boolean() })),
    /** The installation of a unit's sensors, to be filled in at the bay. */
    baySheet: base.input(z.object({ unit: z.string().min(1).max(200) })).output(z.file()),
  },
  /** Typed and not yet saved, so that neither a closed window nor a crash loses it. */
  desk: {
    read: base.input(z.object({ name: deskName })).output(z.object({ text: z.string().nullable() })),
    leave: base.input(z.object({ name: deskName, text: deskText.nullable() })).output(z.object({ left: z.boolean() })),
  },
  finding: {
    dismiss: base
      .input(z.object({ id: z.number().int(), reason: z.string().trim().min(1).max(2000), by: person }))
      .output(z.object({ dismissed: z.literal(true) })),
  },
  scales: {
    list: base.output(
      z.object({
        asOf: instant,
        scales: z.array(scaleRow),
        /** Findings about scales that were set aside, newest first. */
        setAside: z.array(dismissed),
        /**
         * Leveling repeatability, psi, and wander, psi per root month: the fleet's own, or the House Rules' (u null).
         */
        leveling: fleetFigure,
        wander: fleetFigure,
      }),
    ),
  },
  houseRules: {
    list: base.output(z.array(ruleRow)),
    /** Judges the fleet as if a rule had another value. */
    tryOut: base.input(z.object({ name: z.enum(houseRuleNames), value: z.number() })).output(ruleEffect),
    /** was: the value that the person saw. */
    change: editing
      .input(z.object({ name: z.enum(houseRuleNames), was: z.number(), value: z.number(), by: person }))
      .output(z.array(ruleRow)),
  },
  folder: {
    bringIn: base.input(importSource).output(eventIterator(importProgress, importOutcome)),
    writeOut: base.input(z.object({ folder: typedPath })).output(
      z.object({
        folder: z.string(),
        files: z.array(z.object({ file: z.string(), rows: z.number() })),
        formulaTexts: z.number(),
        leftOut: z.array(z.string()),
      }),
    ),
  },
  /** CSV files from scale operators and sensor apps, read by a mapping. */
  foreign: {
    /** The first rows as they would be stored; nothing is. */
    preview: base.input(foreignPreviewInput).output(foreignPreview),
    bringIn: base.input(bringInForeignInput).output(eventIterator(importProgress, foreignOutcome)),
    mappings: base.output(z.array(savedMapping)),
    saveMapping: base.input(saveMappingInput).output(savedMapping),
    removeMapping: base.input(removeMappingInput).output(z.object({ removed: z.literal(true) })),
  },
  weigh: {
    combinations: base.output(pickUnits),
    preview: base.input(previewInput).output(preview),
    save: base.input(saveReadingInput).output(savedReading),
  },
  weighIn: {
    prepare: base.input(prepareInput).output(prepared),
    /** Tickets, readings and calibrations of one visit: all of them or none. */
    save: base.input(saveWeighInInput).output(savedWeighIn),
    voidCalibration: base.input(voidInput).output(z.object({ voided: z.literal(true) })),
  },
  /** Tickets, readings and calibrations, newest first, and what may be corrected in them. */
  evidence: {
    tickets: base.input(evidenceListInput).output(ticketPage),
    readings: base.input(evidenceListInput).output(readingPage),
    calibrations: base.input(evidenceListInput).output(calibrationPage),
    sheet: base.input(sheetInput).output(evidenceSheet),
    /** Refits every line that rests on it, and tells; or only tells what would follow. */
    correct: editing.input(correctInput).output(corrected),
  },
  heavy: {
    list: base.input(heavyListInput).output(heavyPage),
    summary: base.input(heavySpan).output(heavySummary),
    note: editing.input(heavyNoteInput).output(z.object({ note: z.string().nullable() })),
    export: base.input(heavyExportInput).output(heavyExport),
  },
  /** Scans and photos kept with a ticket. */
  attachment: {
    list: base.input(attachmentListInput).output(attachmentList),
    add: base.input(addAttachmentInput).output(addedAttachment),
    /** Of the type that its bytes have, and checked against its hash. */
    read: base.input(attachmentInput).output(z.file()),
    /** The file itself is kept, since copies name it. */
    takeOff: base.input(takeOffInput).output(z.object({ name: z.string() })),
  },
  cabCard: {
    /** One PDF, a page a unit. */
    make: base.input(cabCardInput).output(z.file()),
  },
  bench: {
    plan: base.input(benchPlanInput).output(benchPlan),
    unitWork: base.input(unitWorkInput).output(unitWork),
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
  },
}
