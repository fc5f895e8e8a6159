import { flaggedWithin, type DelayScore } from '#tests/bed/delay.ts'
import type { BedScore } from '#tests/bed/score.ts'

export const percent = (part: number, whole: number): string =>
  whole === 0 ? 'n/a' : `${((100 * part) / whole).toFixed(1)} %`

/** Alarms on clean groups, soundness and scales. */
export function cleanLines(score: BedScore): string[] {
  return [
    `clean groups with an alarm: ${score.alarmedGroups} of ${score.cleanGroups}, ${percent(score.alarmedGroups, score.cleanGroups)}   wanted: 1 % or less, 3 % in other worlds`,
    ...[...score.alarmsByCode].sort((a, b) => b[1] - a[1]).map(([code, count]) => `  ${code}: ${count}`),
    `clean groups calibrated in the last 180 days that are sound: ${score.recentSound} of ${score.recentGroups}, ${percent(score.recentSound, score.recentGroups)}   wanted: 85 % or more`,
    `biased scales named: ${score.biasedNamed} of ${score.biasedScales}, other scales named: ${score.scalesWronglyNamed}   wanted: all, none`,
  ]
}

export const missedLines = (score: BedScore): string[] =>
  score.kinds.flatMap(({ kind, missed }) =>
    missed.map(
      ({ unit, group, scale, startedAt, what }) =>
        `  ${kind}: ${unit ?? scale ?? ''} ${group ?? ''} since ${startedAt.slice(0, 10)}: ${what}`,
    ),
  )

export const alarmLines = (score: BedScore): string[] =>
  score.alarms.map(({ unit, group, code, message }) => `  ${unit ?? ''} ${group ?? ''} ${code}: ${message}`)

/** The table of kinds and what `cleanLines` tells, as plain lines of text. */
export function scoreLines(score: BedScore): string[] {
  const planted = score.kinds.reduce((sum, kind) => sum + kind.planted, 0)
  const lines = [
    `${'planted'.padEnd(20)}${'number'.padStart(7)}${'exact'.padStart(9)}${'fitting'.padStart(9)}${'since, days'.padStart(13)}`,
  ]
  for (const kind of score.kinds) {
    const since = kind.medianSinceDays === null ? '' : String(Math.round(kind.medianSinceDays) + 0)
    lines.push(
      `${kind.kind.padEnd(20)}${String(kind.planted).padStart(7)}${percent(kind.exact, kind.planted).padStart(9)}${percent(kind.fitting, kind.planted).padStart(9)}${since.padStart(13)}`,
    )
  }
  const exact = score.kinds.reduce((sum, kind) => sum + kind.exact, 0)
  const fitting = score.kinds.reduce((sum, kind) => sum + kind.fitting, 0)
  lines.push(
    `${'all'.padEnd(20)}${String(planted).padStart(7)}${percent(exact, planted).padStart(9)}${percent(fitting, planted).padStart(9)}   wanted: 98 % or more fitting, 95 % in other worlds`,
  )
  return [...lines, ...cleanLines(score)]
}

export function delayLines(delay: DelayScore): string[] {
  const shares = [1, 2, 3, 4].map((checks) => `${checks}: ${percent(flaggedWithin(delay, checks), 1)}`)
  return [
    `offsets worth 1,000 lb at the limit flagged within so many check weighings: ${shares.join(', ')}   wanted: 90 % or more within 3`,
    `  of ${delay.planted} offsets, ${delay.early} flagged before they began, ${delay.never} never`,
  ]
}
