import type { PlannedCheck, PlannedUnit } from './fleet-folder.ts'

/** A scale that shows 1.5 % too much; the two others are true. */
export const heavyScale = 'Ridge Stop'

/** Check weighings from `from` days ago on, every `every` days down to `to`, at loads in turn. */
function checksEvery(
  from: number,
  to: number,
  every: number,
  missLb: (daysAgo: number, psi: number) => number = () => 0,
): PlannedCheck[] {
  const loads = [58, 24, 47, 63, 35]
  return Array.from({ length: Math.floor((from - to) / every) + 1 }, (_, i) => {
    const daysAgo = from - i * every
    const psi = loads[i % loads.length] as number
    return { daysAgo, psi, missLb: missLb(daysAgo, psi) }
  })
}

/** Leveling noise that repeats from run to run, lb: a few tens of pounds to either side. */
const noiseLb = (daysAgo: number): number => (((daysAgo * 37) % 11) - 5) * 24

/** Lines that hold, drift, break and were mistyped, each known in advance. */
export const evidenceFleet: readonly PlannedUnit[] = [
  // Reads 900 lb too much since 70 days ago: the scale shows less.
  {
    unit: 'T-301',
    calibratedDaysAgo: [400, 160],
    event: { kind: 'body work', daysAgo: 120 },
    checks: checksEvery(150, 6, 12, (ago) => noiseLb(ago) - (ago <= 70 ? 900 : 0)),
  },
  // 31,000 lb typed as 13,000.
  {
    unit: 'T-302',
    calibratedDaysAgo: [150],
    checks: [
      ...checksEvery(140, 50, 15, noiseLb),
      { daysAgo: 30, psi: 60, missLb: -18_000 },
      { daysAgo: 20, psi: 40 },
      { daysAgo: 8, psi: 55 },
    ],
  },
  { unit: 'T-303', calibratedDaysAgo: [200], checks: checksEvery(190, 5, 15, noiseLb) },
  {
    unit: 'T-304',
    calibratedDaysAgo: [200],
    event: { kind: 'valve replaced', daysAgo: 40 },
    checks: checksEvery(190, 50, 20, noiseLb),
  },
  { unit: 'T-305', calibratedDaysAgo: [100] },
  ...Array.from(
    { length: 8 },
    (_, i): PlannedUnit => ({
      unit: `V-${401 + i}`,
      kind: 'trailer',
      make: 'Quillmarch',
      calibratedDaysAgo: [190],
      checks: [
        ...checksEvery(180 - i, 10, 24, (ago) => noiseLb(ago + i)),
        ...checksEvery(174 - i, 10, 24, (ago) => noiseLb(ago + 3 * i)).map((check) => ({
          ...check,
          scale: 'Fernside Yard',
        })),
        ...checksEvery(170 - i, 10, 24, (ago, psi) => noiseLb(ago + 2 * i) + 0.015 * (4000 + 450 * psi)).map(
          (check) => ({ ...check, scale: heavyScale }),
        ),
      ],
    }),
  ),
]
