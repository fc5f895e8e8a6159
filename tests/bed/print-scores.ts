import { flaggedWithin, type DelayScore } from '#tests/bed/delay.ts'
import type { ScaleScore } from '#tests/bed/score-scales.ts'
import type { BedScore } from '#tests/bed/score.ts'
import { type WeightScore, addWeightScores } from '#tests/bed/score-weights.ts'

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

/** How well biases of scales are known, and what is said of them. */
export const scaleLines = ({ told, held, good, condemned, bad, named }: ScaleScore): string[] => [
  `95 % intervals of biases that hold the truth: ${held} of ${told}, ${percent(held, told)}   wanted: 92 to 98 %`,
  `scales in tolerance that are condemned: ${condemned} of ${good}, ${percent(condemned, good)}   wanted: 2 % or less`,
  `scales out of tolerance called so: ${named} of ${bad}`,
]

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

/** Kinds of trouble that nobody wrote down: what is sure after them is to be right all the same. */
const unrecorded: readonly string[] = [
  'sensor-offset',
  'slope-change',
  'sensor-drift',
  'work-unrecorded',
  'digits-transposed',
  'groups-swapped',
  'kpa-as-psi',
]

/** What readings weigh since each kind of fault began: by all evidence, and beside it by the lines in use. */
export function weightLines(scores: ReadonlyMap<string, WeightScore>): string[] {
  const heads = ['weights', 'coverage', 'rms, lb', 'to line', 'by line', 'sure', 'wrong']
  const rms = ({ square, weights }: WeightScore['best']) => Math.sqrt(square / weights)
  const all = unrecorded.flatMap((kind) => scores.get(kind) ?? [])
  const together = addWeightScores(all.map((score) => new Map([['unrecorded, all', score]])))
  return [
    `${'since'.padEnd(20)}${heads.map((head) => head.padStart(10)).join('')}`,
    ...Array.from([...scores, ...together], ([kind, { best, line }]) => {
      const cells = [
        String(best.weights),
        percent(best.held, best.weights),
        rms(best).toFixed(0),
        line.weights === 0 ? 'n/a' : (rms(best) / rms(line)).toFixed(2),
        percent(line.held, line.weights),
        percent(best.sure, best.weights),
        percent(best.wrong, best.sure),
      ]
      return `${kind.padEnd(20)}${cells.map((cell) => cell.padStart(10)).join('')}`
    }),
  ]
}
