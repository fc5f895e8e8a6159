import { dayMs } from '#core/words/instant.ts'

/** Looks that follow sooner belong to one visit. */
const visitMs = dayMs / 2
/** Gaps between readings that tell how often they come, and the share of them that are no longer than the usual one. */
const fewestGaps = 10
const usualShare = 0.95
/** A sensor is silent once so many times the usual gap has passed, and never sooner than so long; a choice. */
const silentTimes = 2
export const fewestSilentMs = 7 * dayMs

export interface Silence {
  readonly from: number
  /** Within which nearly all readings came. */
  readonly usualMs: number
}

/** Whether a sensor that was last read at a time has been heard of in the last days, as most have; ms UTC. */
export const isHeardOf = (last: number, heardUntil: number): boolean => last >= heardUntil - fewestSilentMs

/**
 * Since when a mounted sensor has been silent for much longer than its interval and the unit's use explain, or
 * undefined while it is not: the one rule for findings and for lives of cells. What it is used for shows in the gaps
 * between its readings.
 *
 * times: of the readings of its circuit, oldest first; mountedAt: of the sensor that sits there now; heardUntil: how
 * far the fleet's readings reach, since a record that nobody has brought up to date says nothing of sensors. All ms
 * UTC.
 */
export function silenceOf(times: readonly number[], mountedAt: number, heardUntil: number): Silence | undefined {
  const last = times.at(-1)
  if (last === undefined || isHeardOf(last, heardUntil)) return undefined
  // Several looks on one visit are one.
  const gaps = times
    .slice(1)
    .map((at, i) => at - (times[i] as number))
    .filter((gap) => gap > visitMs)
  if (gaps.length < fewestGaps) return undefined
  const usualMs = gaps.toSorted((a, b) => a - b)[Math.ceil(usualShare * gaps.length) - 1] as number
  const from = Math.max(last, mountedAt)
  return heardUntil - from > Math.max(silentTimes * usualMs, fewestSilentMs) ? { from, usualMs } : undefined
}
