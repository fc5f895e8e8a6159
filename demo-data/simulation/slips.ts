import type { Random } from './random.ts'
import type { SimGroup } from './unit.ts'
import type { TicketWeight, Weighing } from './weighing.ts'

const kilopascalsPerPsi = 6.894757293168361

/**
 * Every weight that two neighbouring digits changed over make of this one, with a difference of `atLeastLb` or more.
 */
export function transpositions(weightLb: number, atLeastLb: number): number[] {
  const digits = String(weightLb)
  const found: number[] = []
  for (let i = 0; i + 1 < digits.length; i += 1) {
    const swapped = Number(`${digits.slice(0, i)}${digits[i + 1]}${digits[i]}${digits.slice(i + 2)}`)
    if (Math.abs(swapped - weightLb) >= atLeastLb && swapped >= 3_000) found.push(swapped)
  }
  return found
}

const weightOf = (weighing: Weighing, group: SimGroup): TicketWeight | undefined =>
  weighing.weights.find((weight) => weight.group === group)

/**
 * Changes over two digits of a group's weight on the ticket; the printed gross stays. False when no such slip shows.
 */
export function transposeDigits(weighing: Weighing, group: SimGroup, atLeastLb: number, random: Random): boolean {
  const weight = weightOf(weighing, group)
  const typed = weight === undefined ? [] : transpositions(weight.weightLb, atLeastLb)
  if (weight === undefined || typed.length === 0) return false
  weight.weightLb = random.pick(typed)
  return true
}

/** Enters two groups' weights in each other's place; the gross stays right. False when they hardly differ. */
export function swapGroups(weighing: Weighing, one: SimGroup, other: SimGroup, atLeastLb: number): boolean {
  const first = weightOf(weighing, one)
  const second = weightOf(weighing, other)
  if (first === undefined || second === undefined || Math.abs(first.weightLb - second.weightLb) < atLeastLb)
    return false
  const held = first.weightLb
  first.weightLb = second.weightLb
  second.weightLb = held
  return true
}

/** Writes a group's pressures down in kilopascals. False when the group was not read. */
export function readInKilopascals(weighing: Weighing, group: SimGroup): boolean {
  const read = weighing.pressures.filter((pressure) => pressure.group === group)
  for (const pressure of read) pressure.psi = Math.round(pressure.psi * kilopascalsPerPsi)
  return read.length > 0
}

/** Writes down a gross that the axle groups do not add up to. */
export function mistypeGross(weighing: Weighing, byLb: number): boolean {
  if (weighing.grossLb === null) return false
  weighing.grossLb += byLb
  return true
}
