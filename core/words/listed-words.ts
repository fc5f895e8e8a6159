import { phrase } from '#core/words/phrase.ts'
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
] as const

export type ListedWord = (typeof listedWords)[number]

/** A word of a closed list in the language of whoever is spoken to. */
export const word = (listed: ListedWord): string => phrase(listed)
