import { divisionOf } from '#core/evidence/calibrate.ts'
import type { GroupHistory, Observation, ScaleFacts, TicketBook, TicketFacts } from '#core/evidence/history.ts'
import type { LineLife } from '#core/evidence/line-life.ts'
import { type LineCircuits, readPressure } from '#core/evidence/read-pressure.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { barPerPsi, kPaPerPsi } from '#core/words/measures.ts'

/**
 * How far the weights of a ticket are from its gross, lb, and how far they may be: each of the n weights and the gross
 * may be off by one division. Undefined without a gross or without weights.
 */
export function ticketSum(
  { grossLb, weightsLb }: TicketFacts,
  divisionLb: number,
): { sumLb: number; errorLb: number; allowedLb: number } | undefined {
  if (grossLb === null || weightsLb.length === 0) return undefined
  let sumLb = 0
  for (const weight of weightsLb) sumLb += weight
  return { sumLb, errorLb: sumLb - grossLb, allowedLb: (weightsLb.length + 1) * divisionLb }
}

/**
 * A simple mistake of the hand that would explain a miss, with the value that would fit. It is offered, never applied.
 */
export type Slip =
  | { readonly code: 'digits-transposed'; readonly typedLb: number; readonly fitsLb: number; readonly ticketId: number }
  | {
      readonly code: 'groups-swapped'
      readonly typedLb: number
      readonly fitsLb: number
      readonly ticketId: number
      readonly otherGroupId: number
    }
  | {
      readonly code: 'wrong-pressure-unit'
      readonly unit: 'kPa' | 'bar'
      /** The circuit that was typed so; null for all of them, with their mean as typed. */
      readonly circuitId: number | null
      readonly typedPsi: number
      /** What the sensor then showed, as typed: absolute for an absolute one. */
      readonly fitsPsi: number
      /** The group's gauge pressure that follows from it. */
      readonly groupPsi: number
    }

/** A slip with how well it stands: `sure` needs no support from neighbouring checks. */
export interface SlipCandidate {
  readonly slip: Slip
  readonly sure: boolean
}

/**
 * Every weight that becomes `weightLb` when two neighbouring digits change places, and that the scale could print:
 * whole divisions, no leading zero.
 */
export function transpositions(weightLb: number, divisionLb: number): number[] {
  const digits = String(Math.round(weightLb))
  if (Math.round(weightLb) !== weightLb) return []
  const values = new Set<number>()
  for (let i = 0; i + 1 < digits.length; i += 1) {
    if (i === 0 && digits[1] === '0') continue
    const swapped = Number(digits.slice(0, i) + digits[i + 1] + digits[i] + digits.slice(i + 2))
    const divisions = swapped / divisionLb
    if (swapped !== weightLb && Math.abs(divisions - Math.round(divisions)) < 1e-6) values.add(swapped)
  }
  return [...values]
}

/** Whether a corrected weight makes the ticket's sum right that was wrong; null when the sum says nothing. */
export function sumSupports(ticket: TicketFacts | undefined, correctionLb: number, divisionLb: number): boolean | null {
  const sum = ticket?.complete === true ? ticketSum(ticket, divisionLb) : undefined
  if (!sum || Math.abs(sum.errorLb) <= sum.allowedLb) return null
  return Math.abs(sum.errorLb + correctionLb) <= sum.allowedLb
}

/** What looking for slips needs of the whole record. */
export interface SlipFacts {
  readonly rules: HouseRules
  readonly scales: ReadonlyMap<number, ScaleFacts>
  readonly tickets: Pick<TicketBook, 'get'>
  /** The lives of another group's lines, where they are known. */
  readonly livesOf: (groupId: number) => readonly LineLife[] | undefined
}

/** An observation that misses, and how far other figures in its place would. */
interface Miss {
  readonly history: GroupHistory
  /** The line it misses, for the circuits that its pressure is the mean of. */
  readonly line: LineCircuits
  readonly observation: Observation
  readonly psi: number
  /** Standardised distance of a weight at a pressure (psi) from what the line reads, at the time of the observation. */
  readonly distance: (weightLb: number, psi: number) => number
}

const fits = 2.5
const misses = 3

/** Whether a weight fits another group's line at its own reading of the same ticket; null when that cannot be told. */
function fitsOther(
  lives: readonly LineLife[] | undefined,
  ticketId: number,
  weightLb: number,
): { fits: boolean; ownMisses: boolean } | null {
  for (const life of lives ?? []) {
    const check = life.checks.find(({ observation }) => observation.ticketId === ticketId)
    if (!check) continue
    const { fit, line } = life.line
    const read = fit.a + fit.b * check.psi
    const sigma = Math.sqrt(check.varLb2 + line.uA ** 2 + 2 * check.psi * line.covAB + (check.psi * line.uB) ** 2)
    return {
      fits: Math.abs(weightLb - read) <= misses * sigma,
      ownMisses: Math.abs(check.observation.weightLb - read) > misses * sigma,
    }
  }
  return null
}

function swapped(
  { history, observation, psi, distance }: Miss,
  ticket: TicketFacts | undefined,
  livesOf: SlipFacts['livesOf'],
): SlipCandidate[] {
  const typedLb = observation.weightLb
  if (!ticket || typedLb === null) return []
  const candidates: SlipCandidate[] = []
  for (const [i, otherGroupId] of ticket.groupIds.entries()) {
    const fitsLb = ticket.weightsLb[i]
    if (fitsLb === undefined || otherGroupId === history.groupId || fitsLb === typedLb || distance(fitsLb, psi) > fits)
      continue
    const other = fitsOther(livesOf(otherGroupId), ticket.ticketId, typedLb)
    if (other && !other.fits) continue
    candidates.push({
      slip: { code: 'groups-swapped', typedLb, fitsLb, ticketId: ticket.ticketId, otherGroupId },
      sure: other?.ownMisses === true,
    })
  }
  return candidates
}

function transposed(
  { observation, psi, distance }: Miss,
  ticket: TicketFacts | undefined,
  divisionLb: number,
): SlipCandidate[] {
  const { weightLb, ticketId } = observation
  if (weightLb === null || ticketId === null) return []
  return transpositions(weightLb, divisionLb)
    .filter((value) => distance(value, psi) <= fits)
    .flatMap((fitsLb) => {
      const supported = sumSupports(ticket, fitsLb - weightLb, divisionLb)
      if (supported === false) return []
      return [
        { slip: { code: 'digits-transposed', typedLb: weightLb, fitsLb, ticketId } as const, sure: supported === true },
      ]
    })
}

/** The observation with one circuit's pressure, or all of them, read in another unit. */
function converted(observation: Observation, factor: number, place: number | null): Observation {
  return {
    ...observation,
    psi: observation.psi.map((psi, i) => (psi === null || (place !== null && place !== i) ? psi : psi * factor)),
  }
}

function wrongUnit({ history, line, observation, distance }: Miss, rules: HouseRules): SlipCandidate[] {
  if (observation.weightLb === null) return []
  const places = history.circuits.length > 1 ? [null, ...history.circuits.keys()] : [null]
  const candidates: SlipCandidate[] = []
  for (const [unit, factor] of [
    ['kPa', 1 / kPaPerPsi],
    ['bar', 1 / barPerPsi],
  ] as const) {
    for (const place of places) {
      const typed = observation.psi.flatMap((psi, i) => (psi !== null && (place === null || place === i) ? [psi] : []))
      if (typed.length === 0) continue
      const pressure = readPressure(history, line, converted(observation, factor, place), rules.pressureResolutionPsi)
      if ('reason' in pressure || distance(observation.weightLb, pressure.psi) > misses) continue
      const typedPsi = typed.reduce((sum, psi) => sum + psi, 0) / typed.length
      candidates.push({
        slip: {
          code: 'wrong-pressure-unit',
          unit,
          typedPsi,
          fitsPsi: typedPsi * factor,
          groupPsi: pressure.psi,
          circuitId: place === null ? null : (history.circuits[place]?.circuitId ?? null),
        },
        // Pressures differ by a factor of seven or fourteen: nothing but a unit does that.
        sure: true,
      })
    }
  }
  return candidates
}

/** The simple slips that would make a missing observation fit, the surest first. */
export function slipCandidates(miss: Miss, { rules, scales, tickets, livesOf }: SlipFacts): SlipCandidate[] {
  const { ticketId, scaleId } = miss.observation
  const ticket = ticketId === null ? undefined : tickets.get(ticketId)
  const divisionLb = divisionOf(scaleId === null ? undefined : scales.get(scaleId), rules)
  const all = [...wrongUnit(miss, rules), ...swapped(miss, ticket, livesOf), ...transposed(miss, ticket, divisionLb)]
  return [...all.filter(({ sure }) => sure), ...all.filter(({ sure }) => !sure)]
}
