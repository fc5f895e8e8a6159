import type { WorkKind } from '#core/bench/visits.ts'
import { type MeasureSet, toShown } from '#core/words/measures.ts'
import { phrase } from '#core/words/phrase.ts'

/** Stands wherever somebody is sent to work on a vehicle. */
export const cautions = (): readonly string[] => [
  phrase('Park on level ground, set the brakes and chock the wheels.'),
  phrase('Exhaust the suspension air before opening a line.'),
  phrase('Never work under a body or frame that is held up by air.'),
  phrase('Never tee into brake air.'),
  phrase('Keep new and used coin cells out of children’s reach: a swallowed one can kill within hours.'),
  phrase('Onboard weights are not legal-for-trade: a certified scale and the local authority’s rules decide.'),
]

/** Screens on which a step is done. */
export const stepScreens = ['shop', 'weigh-in', 'record', 'unit'] as const
export type StepScreen = (typeof stepScreens)[number]

/** One step of a piece of work. */
export interface Step {
  readonly text: string
  /** The screen that does it, and the words of the text that lead there; null: done by hand alone. */
  readonly doneOn: { readonly screen: StepScreen; readonly words: string } | null
}

const byHand = (text: string): Step => ({ text, doneOn: null })

/** words: of the text. */
const onScreen = (screen: StepScreen, words: string, text: string): Step => ({ text, doneOn: { screen, words } })

/** How far a radio sensor is heard, ft. */
const heardFt = 50

/** The times and distances in these are common practice of the trade with radio pressure sensors. */
const steps = ({ length }: MeasureSet): Record<WorkKind, readonly Step[]> => ({
  cell: [
    byHand(
      phrase('Take a gauge and a spare cell along: even a new cell, or a new sensor’s own, is dead now and then.'),
    ),
    byHand(phrase('Find the sensor by its serial; there is one for each leveling valve.')),
    byHand(phrase('Open its housing, take the old cell out and note whether the sensor had still reported.')),
    byHand(phrase('Leave it without a cell for 45 seconds, so that it can be paired again.')),
    byHand(phrase('Put the new cell in with the right side up, without touching both faces, and close the seal.')),
    byHand(
      phrase('Stay within {heardFt} {lengthSymbol}, about as far as a reading carries: it pairs within two minutes.', {
        heardFt: Math.round(toShown(heardFt, length)),
        lengthSymbol: length.symbol,
      }),
    ),
    byHand(phrase('Compare its pressure with the gauge while nobody moves in the cab, which moves the reading.')),
    onScreen('shop', phrase('Mark the cell swapped'), phrase('Mark the cell swapped, with its date, type and reason.')),
  ],
  recalibration: [
    byHand(phrase('Weigh the unit empty on a certified scale: air built up, on level ground, the suspension settled.')),
    byHand(phrase('Keep everybody still in the cab, or out of it: people moving there move the reading.')),
    byHand(phrase('Note the pressure of every circuit at that moment, and where the lift axles stand.')),
    byHand(
      phrase(
        'Weigh it again loaded near the limit, better at one more load between, and note the pressures each time.',
      ),
    ),
    onScreen(
      'weigh-in',
      phrase('Weigh-in'),
      phrase('Enter the tickets and readings in the Weigh-in, and save the calibration with them.'),
    ),
  ],
  repair: [
    byHand(phrase('Take a gauge along: compare the sensor’s pressure with it while nobody moves in the cab.')),
    byHand(phrase('Look for a leak at the lines, fittings and air springs of the circuit.')),
    byHand(phrase('Check the ride height against its setting, and the leveling valve of the circuit with its link.')),
    onScreen(
      'record',
      phrase('Record what was done'),
      phrase('Record what was done as work on the unit: it tells whether the line still holds.'),
    ),
    onScreen(
      'unit',
      phrase('Unit sheet'),
      phrase('Look at the finding on the Unit sheet: set it aside with a reason where nothing was wrong.'),
    ),
  ],
})

/** How a kind of work is done, in order, its distances in the measures in use. */
export const stepsOf = (kind: WorkKind, measures: MeasureSet): readonly Step[] => steps(measures)[kind]
