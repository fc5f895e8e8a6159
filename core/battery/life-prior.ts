import type { HouseRules } from '#core/fleet/house-rules.ts'

/** The cell for which House Rules state a life; others start in proportion to their volume. */
const referenceCell = 'CR2450'

/**
 * Widest that a fleet's lives stray from what House Rules expect, as standard deviations of ln η. Choices, stated here
 * once.
 */
const spread = {
  /** Of one cell type against its volume: makers and chemistries differ by a third. */
  cell: 0.3,
  /** Of one reporting interval against the straight line in ln(interval): a report is not all that drains a cell. */
  interval: 0.2,
  /** Of the line's slope. A cell drained by reports alone has slope 1, one drained by rest alone 0. */
  slope: 0.3,
  /** Of a cell type or interval that is not recorded. */
  unknown: 0.4,
} as const
const expectedSlope = 0.5

/** What decides how long a cell lasts, as far as it is recorded. */
export interface LifeCondition {
  readonly cell: string | null
  readonly reportEveryS: number | null
}

/**
 * What is believed about ln η before the record is looked at: a mean for each condition, how two conditions vary
 * together (so that what one shows moves the other), and about ln β.
 */
export interface LifePrior {
  readonly meanLnLife: (condition: LifeCondition) => number
  readonly covariance: (one: LifeCondition, other: LifeCondition) => number
  readonly meanLnShape: number
  readonly sdLnShape: number
}

/** Cell types are compared without regard to case and spaces. */
export const cellKey = (cell: string | null): string => (cell ?? '').replaceAll(/\s/g, '').toUpperCase()

/**
 * Volume of a round coin cell from its size code: the digits are the diameter in mm (two digits) and the height in
 * tenths of a mm, so CR2450 is 24 mm by 5.0 mm. In mm³; undefined for any other name.
 * Source: the designation system of IEC 60086-1 (from memory).
 */
export function coinCellVolume(cell: string | null): number | undefined {
  const size = /^[A-Z]{1,2}(\d{2})(\d{2})[A-Z]*$/.exec(cellKey(cell))
  if (!size) return undefined
  const diameter = Number(size[1])
  const height = Number(size[2]) / 10
  const volume = (Math.PI / 4) * diameter * diameter * height
  return volume > 0 ? volume : undefined
}

/**
 * The House Rules as a prior:
 *   ln η = ln life + ln(volume / volume of CR2450) + γ ln(interval / reference interval) + departures,
 * with independent normal terms: one of the whole fleet, one of each cell type, γ around 0.5, one of each condition.
 * The fleet's term and ln β weigh as much as the stated number of deaths: a Weibull sample of n deaths knows ln η to
 * 1/(β √n) and ln β to √(6/π²)/√n, so their standard deviations are 1/(β √n₀) and 0.780/√n₀.
 *
 * Why this and not one law per interval: a fleet has one or two common intervals and a few rare ones. The shared terms
 * let a rare interval, or one never seen, take its life from the common ones; its own departure lets it go its own way
 * once it has deaths of its own. All of it fades as deaths come in, since the record's weight grows with their number.
 *
 * Source of the sampling variances: Bain and Engelhardt, Statistical Analysis of Reliability and Life-Testing Models
 * (from memory).
 */
export function houseRulesPrior(rules: HouseRules): LifePrior {
  const referenceVolume = coinCellVolume(referenceCell) as number
  const varFleet = 1 / (rules.batteryShape * rules.batteryShape * rules.batteryLifePriorDeaths)
  const distance = ({ reportEveryS }: LifeCondition) =>
    reportEveryS === null ? 0 : Math.log(reportEveryS / rules.batteryIntervalS)
  const same = (one: LifeCondition, other: LifeCondition) => cellKey(one.cell) === cellKey(other.cell)
  const sameCondition = (one: LifeCondition, other: LifeCondition) =>
    same(one, other) && one.reportEveryS === other.reportEveryS
  return {
    meanLnLife: (condition) =>
      Math.log(rules.batteryLifeDays) +
      Math.log((coinCellVolume(condition.cell) ?? referenceVolume) / referenceVolume) +
      expectedSlope * distance(condition),
    covariance: (one, other) => {
      let sum = varFleet + spread.slope ** 2 * distance(one) * distance(other)
      if (same(one, other)) sum += spread.cell ** 2 + (coinCellVolume(one.cell) === undefined ? spread.unknown ** 2 : 0)
      if (sameCondition(one, other)) sum += spread.interval ** 2 + (one.reportEveryS === null ? spread.unknown ** 2 : 0)
      return sum
    },
    meanLnShape: Math.log(rules.batteryShape),
    sdLnShape: Math.sqrt(6) / Math.PI / Math.sqrt(rules.batteryShapePriorDeaths),
  }
}
