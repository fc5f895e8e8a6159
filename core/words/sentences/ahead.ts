import { phrase } from '#core/words/phrase.ts'

/** What is said of a record that is dated after today. */
export const aheadWords = (): string =>
  phrase(
    'Dated after today: it is on record, but no line, best weight, verdict or count goes by it until that day comes. Look whether the date was mistyped.',
  )
