import type { FindingCode, Trust } from '#core/findings/finding.ts'

/** What each trust state says about a group, for people who meet the word for the first time. */
export const trustMeanings: Record<Trust, string> = {
  uncalibrated: 'No valid calibration line',
  upset: 'Work since the calibration broke it',
  doubtful: 'Evidence contradicts the line',
  overdue: 'Past its due date',
  'due soon': 'Due within the notice period',
  sound: 'The line can be relied on',
}

/** First letter large, hyphens as spaces: `age-over-limit` reads `Age over limit`. */
export function sentenceCase(text: string): string {
  const words = text.replaceAll('-', ' ')
  return words.charAt(0).toUpperCase() + words.slice(1)
}

export const findingTitle = (code: FindingCode): string => sentenceCase(code)

/** Nothing known: a dash for the eye, a word for a screen reader. */
export const unknownText = '–'
