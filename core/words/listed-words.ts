import { phrase } from '#core/words/phrase.ts'
import { changeSubjects } from '#core/words/change.ts'
import { roles } from '#core/words/roles.ts'
import {
  batteryReasons,
  eventKinds,
  groupRoles,
  leakChecks,
  liftStates,
  measures,
  pressureReferences,
  serviceStates,
  unitKinds,
} from '#core/words/vocabulary.ts'

/** The words that records and answers keep as they are, and that screens show. */
export const listedWords = [
  ...unitKinds,
  ...groupRoles,
  ...measures,
  ...pressureReferences,
  ...liftStates,
  ...batteryReasons,
  ...leakChecks,
  ...eventKinds,
  ...serviceStates,
  ...roles,
  // Trust, what a weight is against its limit, and how grave a finding is.
  'uncalibrated',
  'upset',
  'doubtful',
  'overdue',
  'due soon',
  'sound',
  'under',
  'too close to call',
  'over',
  'stop',
  'warn',
  'note',
  // What a record is of.
  ...changeSubjects,
  // What the log says was done to it.
  'added',
  'changed',
  'corrected',
  'voided',
  'attached',
  'attachment taken off',
  'removed',
  'imported',
  'noted',
  'swapped',
  'dismissed',
  'undone',
  'brought back',
  // How a unit stands on the scale.
  'empty',
  'loaded',
  // How a cell stands, beside overdue and dead.
  'fine',
  'due',
  // What is said of a scale.
  'within tolerance',
  'beyond tolerance',
  'biased',
  'not known',
  // What is said of a rate.
  'worse than the fleet',
  'better than the fleet',
  'no sure difference',
  'more often',
  'less often',
  'no sure change',
  'more',
  'less',
  // What the House Rules measure in, and their choices.
  'days',
  '% of the limit',
  'times',
  'robust standard deviations',
  'standard deviations',
  '% of the mean pressure',
  '% of the gross limit',
  'deaths',
  'a group and year',
  'share',
  'minutes',
  'named',
  'not named',
  ' per root month',
  ' a month',
  // Where a stretch of axles begins, and what gives a set of axles its limit.
  'front axle',
  'kingpin',
  'first axle of the group',
  'outer bridge',
  'inner bridge',
  'single axle',
  'tandem',
  'bridge formula',
  'axle cap',
  'two tandems',
  'gross limit',
  // What a limit is of, and what weighed.
  'group',
  'gross',
  'bridge',
  'onboard',
  // In which order a foreign file writes its dates.
  'year first',
  'day first',
  'month first',
] as const

export type ListedWord = (typeof listedWords)[number]

/** A word of a closed list in the language of whoever is spoken to. */
export const word = (listed: ListedWord): string => phrase(listed)

const isListed = (text: string): text is ListedWord => (listedWords as readonly string[]).includes(text)

/** The same of a text that may be none of them, as a newer log may have it: that one stays as it is. */
export const wordOf = (text: string): string => (isListed(text) ? word(text) : text)
