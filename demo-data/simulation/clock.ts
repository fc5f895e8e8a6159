export const minuteMs = 60_000
export const hourMs = 60 * minuteMs
export const dayMs = 24 * hourMs
export const monthMs = (365.25 / 12) * dayMs

/** UTC midnight of the n-th Sunday of a month (0 = January). */
function nthSunday(year: number, month: number, n: number): number {
  const first = Date.UTC(year, month, 1)
  const weekday = new Date(first).getUTCDay()
  return first + (((7 - weekday) % 7) + 7 * (n - 1)) * dayMs
}

const summers = new Map<number, { from: number; until: number }>()

/**
 * Summer time of the zone seven hours behind UTC: second Sunday of March to first Sunday of November (15 U.S.C. 260a).
 */
function summerOf(year: number): { from: number; until: number } {
  let summer = summers.get(year)
  if (summer === undefined) {
    summer = { from: nthSunday(year, 2, 2) + 9 * hourMs, until: nthSunday(year, 10, 1) + 8 * hourMs }
    summers.set(year, summer)
  }
  return summer
}

/** Hours that local time is behind UTC at a moment: 7 in winter, 6 in summer. */
function hoursBehind(ms: number): 6 | 7 {
  const { from, until } = summerOf(new Date(ms).getUTCFullYear())
  return ms >= from && ms < until ? 6 : 7
}

/**
 * The moment at which local clocks show `hour` (may be a fraction) on a day, given as its UTC midnight; whole minutes.
 */
export function atLocal(day: number, hour: number): number {
  const clock = day + Math.round(hour * 60) * minuteMs
  return clock + hoursBehind(clock + 7 * hourMs) * hourMs
}

/** ISO 8601 with the local offset, to the second. */
export function stamp(ms: number): string {
  const behind = hoursBehind(ms)
  return `${new Date(ms - behind * hourMs).toISOString().slice(0, 19)}-0${behind}:00`
}

/** The UTC midnight of a plain date YYYY-MM-DD; RangeError when the text is not one. */
export function dayFromText(text: string): number {
  const ms = /^\d{4}-\d{2}-\d{2}$/.test(text) ? Date.parse(`${text}T00:00:00Z`) : Number.NaN
  if (Number.isNaN(ms) || new Date(ms).toISOString().slice(0, 10) !== text) {
    throw new RangeError(`${text} is not a date such as 2026-11-24`)
  }
  return ms
}
