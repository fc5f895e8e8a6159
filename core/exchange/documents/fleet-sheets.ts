import { word } from '#core/words/listed-words.ts'
import { findingTitle } from '#core/findings/finding-title.ts'
import { nextDue, sayDue } from '#core/findings/next-due.ts'
import type { RosterRow } from '#core/contracts/unit.ts'
import type { ScaleRow } from '#core/contracts/scales.ts'
import type { UntrustedView } from '#core/contracts/today.ts'
import { type SheetColumn, weightHeading } from '#core/exchange/documents/sheet.ts'
import { expanded } from '#core/words/coverage.ts'
import { toShown } from '#core/words/measures.ts'
import { plusMinusShown } from '#core/words/say.ts'
import { phrase, phraseLater, spoken } from '#core/words/phrase.ts'

const moment = (at: string | null) => (at === null ? null : { moment: at })

/** The Roster: a row a unit. */
export const rosterColumns: readonly SheetColumn<RosterRow>[] = spoken(
  [
    {
      heading: phraseLater('Unit'),
      meaning: phraseLater('Its number'),
      width: 12,
      onPaper: 52,
      of: ({ unit }) => unit,
    },
    {
      heading: phraseLater('Kind'),
      meaning: phraseLater('tractor, trailer or truck'),
      width: 10,
      onPaper: 38,
      of: ({ kind }) => word(kind),
    },
    {
      heading: phraseLater('Trust'),
      meaning: phraseLater(
        'Of its worst axle group: uncalibrated, upset, doubtful, overdue, due soon or sound; empty: not sensed',
      ),
      width: 14,
      onPaper: 60,
      of: ({ trust }) => trust && word(trust),
    },
    {
      heading: phraseLater('Worst finding'),
      meaning: phraseLater('The finding that makes its state'),
      width: 26,
      onPaper: '*',
      of: ({ worstFinding }) => worstFinding && findingTitle(worstFinding),
    },
    {
      heading: phraseLater('All findings'),
      meaning: phraseLater('What is found of it, the worst first'),
      width: 40,
      of: ({ findingCodes }) => findingCodes.map(findingTitle).join(', ') || null,
    },
    {
      heading: phraseLater('Calibrated'),
      meaning: phraseLater('When the group calibrated longest ago was calibrated'),
      width: 17,
      onPaper: 74,
      of: ({ calibratedAt }) => moment(calibratedAt),
    },
    {
      heading: phraseLater('Due on'),
      meaning: phraseLater(
        'The day by which the first of its lines must be calibrated again; now: one cannot be trusted',
      ),
      width: 12,
      onPaper: 52,
      of: ({ trust, dueOn }) => {
        const due = trust === null ? null : nextDue(trust, dueOn)
        return due === null || due === 'now' ? due && sayDue(due) : { day: due }
      },
    },
    {
      heading: weightHeading(() => phrase('± at limit (95 %)')),
      meaning: phraseLater('Largest half-width of the 95 % interval of a weight at a group’s limit'),
      width: 16,
      onPaper: 56,
      of: ({ uLimitLb }, { measures }) => (uLimitLb === null ? null : plusMinusShown(uLimitLb, measures.weight)),
    },
    {
      heading: phraseLater('Oldest cell since'),
      meaning: phraseLater('When the oldest cell among its mounted sensors was put in'),
      width: 17,
      onPaper: 74,
      of: ({ cellSince }) => moment(cellSince),
    },
    {
      heading: phraseLater('Yard'),
      meaning: phraseLater('Where it is at home'),
      width: 16,
      onPaper: 78,
      of: ({ yard }) => yard,
    },
    {
      heading: phraseLater('Make'),
      meaning: phraseLater('Who made it'),
      width: 14,
      of: ({ make }) => make,
    },
    {
      heading: phraseLater('Model'),
      meaning: phraseLater('Its model'),
      width: 16,
      of: ({ model }) => model,
    },
    {
      heading: phraseLater('Model year'),
      meaning: phraseLater('Of which it is'),
      width: 11,
      format: '0',
      of: ({ modelYear }) => modelYear,
    },
    {
      heading: phraseLater('Retired'),
      meaning: phraseLater('yes: out of service'),
      width: 9,
      of: ({ retired }) => (retired ? phrase('yes') : null),
    },
  ],
  ['heading', 'meaning'],
)

/** Findings: a row for each thing found. */
export const findingColumns: readonly SheetColumn<UntrustedView>[] = spoken(
  [
    {
      heading: phraseLater('State'),
      meaning: phraseLater('What it takes its groups down to; empty: it unsettles no line by itself'),
      width: 14,
      of: ({ trust }) => trust && word(trust),
    },
    {
      heading: phraseLater('Severity'),
      meaning: phraseLater('stop: needs work; warn: look at it; note: good to know'),
      width: 10,
      of: ({ severity }) => word(severity),
    },
    {
      heading: phraseLater('Finding'),
      meaning: phraseLater('What is found'),
      width: 26,
      of: ({ code }) => findingTitle(code),
    },
    {
      heading: phraseLater('Unit'),
      meaning: phraseLater('Of which unit; empty: of a scale or a ticket'),
      width: 12,
      of: ({ unit }) => unit,
    },
    {
      heading: phraseLater('Groups'),
      meaning: phraseLater('Of which of its axle groups'),
      width: 16,
      of: ({ groups }) => groups.join(', ') || null,
    },
    {
      heading: phraseLater('Yard'),
      meaning: phraseLater('Where the unit is at home'),
      width: 16,
      of: ({ yard }) => yard,
    },
    {
      heading: phraseLater('Scale'),
      meaning: phraseLater('Of which scale'),
      width: 18,
      of: ({ scale }) => scale,
    },
    {
      heading: phraseLater('Ticket'),
      meaning: phraseLater('Of which ticket'),
      width: 12,
      of: ({ ticket }) => ticket,
    },
    {
      heading: phraseLater('Since'),
      meaning: phraseLater('When the trouble began, as far as the evidence tells'),
      width: 17,
      of: ({ since }) => moment(since),
    },
    {
      heading: phraseLater('What it says'),
      meaning: phraseLater('In a sentence, with its numbers'),
      width: 90,
      of: ({ message }) => message,
    },
    {
      heading: phraseLater('What to do'),
      meaning: phraseLater('The next step'),
      width: 70,
      of: ({ nextStep }) => nextStep,
    },
  ],
  ['heading', 'meaning'],
)

/** Scales: a row each. */
export const scaleColumns: readonly SheetColumn<ScaleRow>[] = spoken(
  [
    {
      heading: phraseLater('Scale'),
      meaning: phraseLater('Its name'),
      width: 22,
      of: ({ scale }) => scale,
    },
    {
      heading: phraseLater('Tickets'),
      meaning: phraseLater('Tickets of it in the record'),
      width: 9,
      of: ({ tickets }) => tickets,
    },
    {
      heading: weightHeading(() => phrase('Division')),
      meaning: phraseLater('As recorded; empty: the House Rules’'),
      width: 13,
      of: ({ divisionLb }, { measures }) => (divisionLb === null ? null : toShown(divisionLb, measures.weight)),
    },
    {
      heading: phraseLater('Tolerance, ± %'),
      meaning: phraseLater('What it is certified to, as recorded; empty: the House Rules’'),
      width: 14,
      format: '0.00',
      of: ({ tolerancePercent }) => tolerancePercent,
    },
    {
      heading: ({ measures }) => phrase('Elevation, {elevationSymbol}', { elevationSymbol: measures.elevation.symbol }),
      meaning: phraseLater('Above sea level'),
      width: 13,
      of: ({ elevationFt }, { measures }) => (elevationFt === null ? null : toShown(elevationFt, measures.elevation)),
    },
    {
      heading: phraseLater('Bias, %'),
      meaning: phraseLater('What it shows too much; below zero: too little; empty: not known yet'),
      width: 10,
      format: '+0.00;-0.00;0.00',
      of: ({ biasPercent, verdict }) => (verdict === 'not known' ? null : biasPercent),
    },
    {
      heading: '± (95 %), %',
      meaning: phraseLater('Half-width of the 95 % interval of its bias'),
      width: 12,
      format: '0.00',
      of: ({ uPercent, verdict }) => (verdict === 'not known' ? null : expanded(uPercent)),
    },
    {
      heading: phraseLater('Verdict'),
      meaning: phraseLater('What the weighings say of it'),
      width: 24,
      of: ({ verdict }) => word(verdict),
    },
    {
      heading: phraseLater('Cannot be told apart from'),
      meaning: phraseLater('Scales that the weighings do not tell it from'),
      width: 28,
      of: ({ tiedTo }) => tiedTo.join(', ') || null,
    },
    {
      heading: phraseLater('Weighings'),
      meaning: phraseLater('How many say so'),
      width: 11,
      of: ({ weighings }) => weighings,
    },
    {
      heading: phraseLater('Groups'),
      meaning: phraseLater('Of how many axle groups'),
      width: 9,
      of: ({ groups }) => groups,
    },
    {
      heading: phraseLater('Since'),
      meaning: phraseLater('The first of them'),
      width: 17,
      of: ({ since }) => moment(since),
    },
    {
      heading: phraseLater('Finding'),
      meaning: phraseLater('What is found of it'),
      width: 80,
      of: ({ finding }) => finding?.message ?? null,
    },
  ],
  ['heading', 'meaning'],
)
