import { findingTitle } from '#core/findings/finding-title.ts'
import type { RosterRow } from '#core/contracts/unit.ts'
import type { ScaleRow } from '#core/contracts/scales.ts'
import type { UntrustedView } from '#core/contracts/today.ts'
import type { SheetColumn } from '#core/exchange/documents/sheet.ts'
import { expanded } from '#core/words/coverage.ts'
import { toShown } from '#core/words/measures.ts'
import { type Say, plusMinusShown } from '#core/words/say.ts'
import { phrase } from '#core/words/phrase.ts'

const weightIn = (heading: string) => (say: Say) => `${heading}, ${say.measures.weight.symbol}`
const moment = (at: string | null) => (at === null ? null : { moment: at })

/** The Roster: a row a unit. */
export const rosterColumns: readonly SheetColumn<RosterRow>[] = [
  {
    get heading() {
      return phrase('Unit')
    },
    get meaning() {
      return phrase('Its number')
    },
    width: 12,
    onPaper: 52,
    of: ({ unit }) => unit,
  },
  {
    get heading() {
      return phrase('Kind')
    },
    get meaning() {
      return phrase('tractor, trailer or truck')
    },
    width: 10,
    onPaper: 38,
    of: ({ kind }) => kind,
  },
  {
    get heading() {
      return phrase('Trust')
    },
    get meaning() {
      return phrase(
        'Of its worst axle group: uncalibrated, upset, doubtful, overdue, due soon or sound; empty: not sensed',
      )
    },
    width: 14,
    onPaper: 60,
    of: ({ trust }) => trust,
  },
  {
    get heading() {
      return phrase('Worst finding')
    },
    get meaning() {
      return phrase('The finding that makes its state')
    },
    width: 26,
    onPaper: '*',
    of: ({ worstFinding }) => worstFinding && findingTitle(worstFinding),
  },
  {
    get heading() {
      return phrase('All findings')
    },
    get meaning() {
      return phrase('What is found of it, the worst first')
    },
    width: 40,
    of: ({ findingCodes }) => findingCodes.map(findingTitle).join(', ') || null,
  },
  {
    get heading() {
      return phrase('Calibrated')
    },
    get meaning() {
      return phrase('When the group calibrated longest ago was calibrated')
    },
    width: 17,
    onPaper: 74,
    of: ({ calibratedAt }) => moment(calibratedAt),
  },
  {
    get heading() {
      return phrase('Due on')
    },
    get meaning() {
      return phrase('The day by which the first of its lines must be calibrated anew')
    },
    width: 12,
    onPaper: 52,
    of: ({ dueOn }) => (dueOn === null ? null : { day: dueOn }),
  },
  {
    heading: weightIn(phrase('± at limit (95 %)')),
    get meaning() {
      return phrase('Largest half-width of the 95 % interval of a weight at a group’s limit')
    },
    width: 16,
    onPaper: 56,
    of: ({ uLimitLb }, { measures }) => (uLimitLb === null ? null : plusMinusShown(uLimitLb, measures.weight)),
  },
  {
    get heading() {
      return phrase('Oldest cell since')
    },
    get meaning() {
      return phrase('When the oldest cell among its mounted sensors was put in')
    },
    width: 17,
    onPaper: 74,
    of: ({ cellSince }) => moment(cellSince),
  },
  {
    get heading() {
      return phrase('Yard')
    },
    get meaning() {
      return phrase('Where it is at home')
    },
    width: 16,
    onPaper: 78,
    of: ({ yard }) => yard,
  },
  {
    get heading() {
      return phrase('Make')
    },
    get meaning() {
      return phrase('Who made it')
    },
    width: 14,
    of: ({ make }) => make,
  },
  {
    get heading() {
      return phrase('Model')
    },
    get meaning() {
      return phrase('Its model')
    },
    width: 16,
    of: ({ model }) => model,
  },
  {
    get heading() {
      return phrase('Model year')
    },
    get meaning() {
      return phrase('Of which it is')
    },
    width: 11,
    format: '0',
    of: ({ modelYear }) => modelYear,
  },
  {
    get heading() {
      return phrase('Retired')
    },
    get meaning() {
      return phrase('yes: out of service')
    },
    width: 9,
    of: ({ retired }) => (retired ? 'yes' : null),
  },
]

/** Findings: a row for each thing found. */
export const findingColumns: readonly SheetColumn<UntrustedView>[] = [
  {
    get heading() {
      return phrase('State')
    },
    get meaning() {
      return phrase('What it takes its groups down to; empty: it unsettles no line by itself')
    },
    width: 14,
    of: ({ trust }) => trust,
  },
  {
    get heading() {
      return phrase('Severity')
    },
    get meaning() {
      return phrase('stop: needs work; warn: look at it; note: good to know')
    },
    width: 10,
    of: ({ severity }) => severity,
  },
  {
    get heading() {
      return phrase('Finding')
    },
    get meaning() {
      return phrase('What is found')
    },
    width: 26,
    of: ({ code }) => findingTitle(code),
  },
  {
    get heading() {
      return phrase('Unit')
    },
    get meaning() {
      return phrase('Of which unit; empty: of a scale or a ticket')
    },
    width: 12,
    of: ({ unit }) => unit,
  },
  {
    get heading() {
      return phrase('Groups')
    },
    get meaning() {
      return phrase('Of which of its axle groups')
    },
    width: 16,
    of: ({ groups }) => groups.join(', ') || null,
  },
  {
    get heading() {
      return phrase('Yard')
    },
    get meaning() {
      return phrase('Where the unit is at home')
    },
    width: 16,
    of: ({ yard }) => yard,
  },
  {
    get heading() {
      return phrase('Scale')
    },
    get meaning() {
      return phrase('Of which scale')
    },
    width: 18,
    of: ({ scale }) => scale,
  },
  {
    get heading() {
      return phrase('Ticket')
    },
    get meaning() {
      return phrase('Of which ticket')
    },
    width: 12,
    of: ({ ticket }) => ticket,
  },
  {
    get heading() {
      return phrase('Since')
    },
    get meaning() {
      return phrase('When the trouble began, as far as the evidence tells')
    },
    width: 17,
    of: ({ since }) => moment(since),
  },
  {
    get heading() {
      return phrase('What it says')
    },
    get meaning() {
      return phrase('In a sentence, with its numbers')
    },
    width: 90,
    of: ({ message }) => message,
  },
  {
    get heading() {
      return phrase('What to do')
    },
    get meaning() {
      return phrase('The next step')
    },
    width: 70,
    of: ({ nextStep }) => nextStep,
  },
]

/** Scales: a row each. */
export const scaleColumns: readonly SheetColumn<ScaleRow>[] = [
  {
    get heading() {
      return phrase('Scale')
    },
    get meaning() {
      return phrase('Its name')
    },
    width: 22,
    of: ({ scale }) => scale,
  },
  {
    get heading() {
      return phrase('Tickets')
    },
    get meaning() {
      return phrase('Tickets of it in the record')
    },
    width: 9,
    of: ({ tickets }) => tickets,
  },
  {
    heading: weightIn(phrase('Division')),
    get meaning() {
      return phrase('As recorded; empty: the House Rules’')
    },
    width: 13,
    of: ({ divisionLb }, { measures }) => (divisionLb === null ? null : toShown(divisionLb, measures.weight)),
  },
  {
    get heading() {
      return phrase('Tolerance, ± %')
    },
    get meaning() {
      return phrase('What it is certified to, as recorded; empty: the House Rules’')
    },
    width: 14,
    format: '0.00',
    of: ({ tolerancePercent }) => tolerancePercent,
  },
  {
    heading: ({ measures }) => phrase('Elevation, {elevationSymbol}', { elevationSymbol: measures.elevation.symbol }),
    get meaning() {
      return phrase('Above sea level')
    },
    width: 13,
    of: ({ elevationFt }, { measures }) => (elevationFt === null ? null : toShown(elevationFt, measures.elevation)),
  },
  {
    get heading() {
      return phrase('Bias, %')
    },
    get meaning() {
      return phrase('What it shows too much; below zero: too little; empty: not known yet')
    },
    width: 10,
    format: '+0.00;-0.00;0.00',
    of: ({ biasPercent, verdict }) => (verdict === 'not known' ? null : biasPercent),
  },
  {
    heading: '± (95 %), %',
    get meaning() {
      return phrase('Half-width of the 95 % interval of its bias')
    },
    width: 12,
    format: '0.00',
    of: ({ uPercent, verdict }) => (verdict === 'not known' ? null : expanded(uPercent)),
  },
  {
    get heading() {
      return phrase('Verdict')
    },
    get meaning() {
      return phrase('What the weighings say of it')
    },
    width: 24,
    of: ({ verdict }) => verdict,
  },
  {
    get heading() {
      return phrase('Cannot be told apart from')
    },
    get meaning() {
      return phrase('Scales that the weighings do not tell it from')
    },
    width: 28,
    of: ({ tiedTo }) => tiedTo.join(', ') || null,
  },
  {
    get heading() {
      return phrase('Weighings')
    },
    get meaning() {
      return phrase('How many say so')
    },
    width: 11,
    of: ({ weighings }) => weighings,
  },
  {
    get heading() {
      return phrase('Groups')
    },
    get meaning() {
      return phrase('Of how many axle groups')
    },
    width: 9,
    of: ({ groups }) => groups,
  },
  {
    get heading() {
      return phrase('Since')
    },
    get meaning() {
      return phrase('The first of them')
    },
    width: 17,
    of: ({ since }) => moment(since),
  },
  {
    get heading() {
      return phrase('Finding')
    },
    get meaning() {
      return phrase('What is found of it')
    },
    width: 80,
    of: ({ finding }) => finding?.message ?? null,
  },
]
