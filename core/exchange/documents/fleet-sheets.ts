import type { RosterRow } from '#core/contracts/unit.ts'
import type { ScaleRow } from '#core/contracts/scales.ts'
import type { UntrustedView } from '#core/contracts/today.ts'
import type { SheetColumn } from '#core/exchange/documents/sheet.ts'
import { expanded } from '#core/words/coverage.ts'
import { toShown } from '#core/words/measures.ts'
import { type Say, plusMinusShown } from '#core/words/say.ts'
import { sentenceCase } from '#core/words/text.ts'

const weightIn = (heading: string) => (say: Say) => `${heading}, ${say.measures.weight.symbol}`
const moment = (at: string | null) => (at === null ? null : { moment: at })

/** The Roster: a row a unit. */
export const rosterColumns: readonly SheetColumn<RosterRow>[] = [
  { heading: 'Unit', meaning: 'Its number', width: 12, onPaper: 52, of: ({ unit }) => unit },
  { heading: 'Kind', meaning: 'tractor, trailer or truck', width: 10, onPaper: 38, of: ({ kind }) => kind },
  {
    heading: 'Trust',
    meaning: 'Of its worst axle group: uncalibrated, upset, doubtful, overdue, due soon or sound; empty: not sensed',
    width: 14,
    onPaper: 60,
    of: ({ trust }) => trust,
  },
  {
    heading: 'Worst finding',
    meaning: 'The finding that makes its state',
    width: 26,
    onPaper: '*',
    of: ({ worstFinding }) => worstFinding && sentenceCase(worstFinding),
  },
  {
    heading: 'All findings',
    meaning: 'What is found of it, the worst first',
    width: 40,
    of: ({ findingCodes }) => findingCodes.map(sentenceCase).join(', ') || null,
  },
  {
    heading: 'Calibrated',
    meaning: 'When the group calibrated longest ago was calibrated',
    width: 17,
    onPaper: 74,
    of: ({ calibratedAt }) => moment(calibratedAt),
  },
  {
    heading: 'Due on',
    meaning: 'The day by which the first of its lines must be calibrated anew',
    width: 12,
    onPaper: 52,
    of: ({ dueOn }) => (dueOn === null ? null : { day: dueOn }),
  },
  {
    heading: weightIn('± at limit (95 %)'),
    meaning: 'Largest half-width of the 95 % interval of a weight at a group’s limit',
    width: 16,
    onPaper: 56,
    of: ({ uLimitLb }, { measures }) => (uLimitLb === null ? null : plusMinusShown(uLimitLb, measures.weight)),
  },
  {
    heading: 'Oldest cell since',
    meaning: 'When the oldest cell among its mounted sensors was put in',
    width: 17,
    onPaper: 74,
    of: ({ cellSince }) => moment(cellSince),
  },
  { heading: 'Yard', meaning: 'Where it is at home', width: 16, onPaper: 78, of: ({ yard }) => yard },
  { heading: 'Make', meaning: 'Who made it', width: 14, of: ({ make }) => make },
  { heading: 'Model', meaning: 'Its model', width: 16, of: ({ model }) => model },
  { heading: 'Model year', meaning: 'Of which it is', width: 11, format: '0', of: ({ modelYear }) => modelYear },
  { heading: 'Retired', meaning: 'yes: out of service', width: 9, of: ({ retired }) => (retired ? 'yes' : null) },
]

/** Findings: a row for each thing found. */
export const findingColumns: readonly SheetColumn<UntrustedView>[] = [
  {
    heading: 'State',
    meaning: 'What it takes its groups down to; empty: it unsettles no line by itself',
    width: 14,
    of: ({ trust }) => trust,
  },
  {
    heading: 'Severity',
    meaning: 'stop: needs work; warn: look at it; note: good to know',
    width: 10,
    of: ({ severity }) => severity,
  },
  { heading: 'Finding', meaning: 'What is found', width: 26, of: ({ code }) => sentenceCase(code) },
  { heading: 'Unit', meaning: 'Of which unit; empty: of a scale or a ticket', width: 12, of: ({ unit }) => unit },
  {
    heading: 'Groups',
    meaning: 'Of which of its axle groups',
    width: 16,
    of: ({ groups }) => groups.join(', ') || null,
  },
  { heading: 'Yard', meaning: 'Where the unit is at home', width: 16, of: ({ yard }) => yard },
  { heading: 'Scale', meaning: 'Of which scale', width: 18, of: ({ scale }) => scale },
  { heading: 'Ticket', meaning: 'Of which ticket', width: 12, of: ({ ticket }) => ticket },
  {
    heading: 'Since',
    meaning: 'When the trouble began, as far as the evidence tells',
    width: 17,
    of: ({ since }) => moment(since),
  },
  { heading: 'What it says', meaning: 'In a sentence, with its numbers', width: 90, of: ({ message }) => message },
  { heading: 'What to do', meaning: 'The next step', width: 70, of: ({ nextStep }) => nextStep },
]

/** Scales: a row each. */
export const scaleColumns: readonly SheetColumn<ScaleRow>[] = [
  { heading: 'Scale', meaning: 'Its name', width: 22, of: ({ scale }) => scale },
  { heading: 'Tickets', meaning: 'Tickets of it in the record', width: 9, of: ({ tickets }) => tickets },
  {
    heading: weightIn('Division'),
    meaning: 'As recorded; empty: the House Rules’',
    width: 13,
    of: ({ divisionLb }, { measures }) => (divisionLb === null ? null : toShown(divisionLb, measures.weight)),
  },
  {
    heading: 'Tolerance, ± %',
    meaning: 'What it is certified to, as recorded; empty: the House Rules’',
    width: 14,
    format: '0.00',
    of: ({ tolerancePercent }) => tolerancePercent,
  },
  {
    heading: ({ measures }) => `Elevation, ${measures.elevation.symbol}`,
    meaning: 'Above sea level',
    width: 13,
    of: ({ elevationFt }, { measures }) => (elevationFt === null ? null : toShown(elevationFt, measures.elevation)),
  },
  {
    heading: 'Bias, %',
    meaning: 'What it shows too much; below zero: too little; empty: not known yet',
    width: 10,
    format: '+0.00;-0.00;0.00',
    of: ({ biasPercent, verdict }) => (verdict === 'not known' ? null : biasPercent),
  },
  {
    heading: '± (95 %), %',
    meaning: 'Half-width of the 95 % interval of its bias',
    width: 12,
    format: '0.00',
    of: ({ uPercent, verdict }) => (verdict === 'not known' ? null : expanded(uPercent)),
  },
  { heading: 'Verdict', meaning: 'What the weighings say of it', width: 24, of: ({ verdict }) => verdict },
  {
    heading: 'Cannot be told apart from',
    meaning: 'Scales that the weighings do not tell it from',
    width: 28,
    of: ({ tiedTo }) => tiedTo.join(', ') || null,
  },
  { heading: 'Weighings', meaning: 'How many say so', width: 11, of: ({ weighings }) => weighings },
  { heading: 'Groups', meaning: 'Of how many axle groups', width: 9, of: ({ groups }) => groups },
  { heading: 'Since', meaning: 'The first of them', width: 17, of: ({ since }) => moment(since) },
  { heading: 'Finding', meaning: 'What is found of it', width: 80, of: ({ finding }) => finding?.message ?? null },
]
