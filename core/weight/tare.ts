import {
  type ScaleLookup,
  divisionOf,
  scaleGainUncertainty,
  ticketUncertaintyLb,
  toleranceOf,
} from '#core/evidence/calibrate.ts'
import { type CorrelatedWeight, type GainPart, sumWeights } from '#core/weight/correlated.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { type Result, ok, refuse } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

/**
 * Empty tickets of the same units lie within this share of the lightest: fuel, people, dunnage. Common sense, not
 * published.
 */
const emptyBand = 0.04

/** What a ticket says about the whole of its units. grossLb: as printed, or the sum of all their groups. */
export interface TareTicket {
  readonly ticketId: number
  readonly weighedAt: number
  readonly scaleId: number
  readonly unitIds: readonly number[]
  readonly grossLb: number
}

/** A unit whose tare is asked for; a tractor alone carries no cargo, so every ticket of it alone is an empty one. */
export interface TareUnit {
  readonly unitId: number
  readonly unit: string
  readonly kind: 'tractor' | 'trailer' | 'truck'
}

export interface Tare {
  readonly weight: CorrelatedWeight
  readonly basis: 'combination ticket' | 'sum of units'
  /** The tickets it rests on. */
  readonly ticketIds: readonly number[]
}

/** Lists of tickets by the units on them, prepared once for many combinations. */
export type TareBook = ReadonlyMap<string, readonly TareTicket[]>

const keyOf = (unitIds: readonly number[]): string => [...unitIds].sort((a, b) => a - b).join(' ')

export function tareBook(tickets: readonly TareTicket[]): TareBook {
  const book = new Map<string, TareTicket[]>()
  for (const ticket of tickets) {
    const key = keyOf(ticket.unitIds)
    const list = book.get(key)
    if (list) list.push(ticket)
    else book.set(key, [ticket])
  }
  return book
}

/** What tare needs besides the units. grossLimitLb: of the combination. */
export interface TareTerms {
  readonly book: TareBook
  readonly scaleOf: ScaleLookup
  readonly rules: HouseRules
  readonly grossLimitLb: number
  /** Only tickets up to this time count; ms UTC. */
  readonly until: number
}

/** The most that a ticket may weigh and still count as an empty one, lb, under a gross limit in lb. */
export const heaviestEmptyLb = (grossLimitLb: number, { emptyTicketPercent }: HouseRules): number =>
  (emptyTicketPercent / 100) * grossLimitLb

/**
 * The empty tickets among all tickets of the same units: no ticket says that it is one. Those of a tractor alone all
 * are, since it carries no cargo; of others those that weigh at most `heaviestEmptyLb`, and within 4 % of the lightest.
 */
export function emptyTicketsOf(
  tickets: readonly TareTicket[],
  units: readonly TareUnit[],
  grossLimitLb: number,
  rules: HouseRules,
): TareTicket[] {
  if (units.length === 1 && units[0]?.kind === 'tractor') return [...tickets]
  const light = tickets.filter(({ grossLb }) => grossLb <= heaviestEmptyLb(grossLimitLb, rules))
  const lightestLb = Math.min(...light.map(({ grossLb }) => grossLb))
  return light.filter(({ grossLb }) => grossLb <= lightestLb * (1 + emptyBand))
}

function emptyTickets(units: readonly TareUnit[], { book, rules, grossLimitLb, until }: TareTerms): TareTicket[] {
  const all = (book.get(keyOf(units.map(({ unitId }) => unitId))) ?? []).filter(({ weighedAt }) => weighedAt <= until)
  return emptyTicketsOf(all, units, grossLimitLb, rules).sort((a, b) => a.weighedAt - b.weighedAt)
}

/** Scatter of the empty tickets among each other, lb; zero below three. */
function spreadLb(tickets: readonly TareTicket[]): number {
  if (tickets.length < 3) return 0
  const mean = tickets.reduce((sum, { grossLb }) => sum + grossLb, 0) / tickets.length
  return Math.sqrt(tickets.reduce((sum, { grossLb }) => sum + (grossLb - mean) ** 2, 0) / (tickets.length - 1))
}

function tareFromTickets(units: readonly TareUnit[], terms: TareTerms): Tare | undefined {
  const tickets = emptyTickets(units, terms)
  const latest = tickets.at(-1)
  if (latest === undefined) return undefined
  const { scaleOf, rules } = terms
  const scale = scaleOf(latest.scaleId)
  const u = Math.max(ticketUncertaintyLb(divisionOf(scale, rules), rules.ticketRepeatabilityLb), spreadLb(tickets))
  const gain = scaleGainUncertainty(toleranceOf(scale, rules))
  return {
    weight: {
      weightLb: latest.grossLb,
      ownVarLb2: u * u,
      gains: [{ scaleId: latest.scaleId, lb: gain * latest.grossLb }],
      follows: null,
    },
    basis: units.length > 1 ? 'combination ticket' : 'sum of units',
    ticketIds: [latest.ticketId],
  }
}

/** One weight out of several, its parts merged by scale; for parts that share no own error. */
function mergeWeights(weights: readonly CorrelatedWeight[], shares: readonly number[]): CorrelatedWeight {
  const gains = new Map<number, number>()
  let ownVarLb2 = 0
  for (const [i, { ownVarLb2: own, gains: parts }] of weights.entries()) {
    const share = shares[i] ?? 0
    ownVarLb2 += share * share * own
    for (const { scaleId, lb } of parts) gains.set(scaleId, (gains.get(scaleId) ?? 0) + share * lb)
  }
  return {
    weightLb: sumWeights(weights, shares).weightLb,
    ownVarLb2,
    gains: Array.from(gains, ([scaleId, lb]): GainPart => ({ scaleId, lb })),
    follows: null,
  }
}

/**
 * A unit's own tare: from a ticket of it alone, otherwise an empty ticket of it with one other unit, less that unit's
 * own.
 */
function unitTare(unit: TareUnit, others: readonly TareUnit[], terms: TareTerms): Tare | undefined {
  const alone = tareFromTickets([unit], terms)
  if (alone) return alone
  for (const other of others) {
    const pair = tareFromTickets([other, unit], terms)
    const rest = tareFromTickets([other], terms)
    if (pair && rest) {
      return {
        weight: mergeWeights([pair.weight, rest.weight], [1, -1]),
        basis: 'sum of units',
        ticketIds: [...pair.ticketIds, ...rest.ticketIds],
      }
    }
  }
  return undefined
}

/**
 * The tare of a combination: its latest empty ticket; where it has none, the sum of its units' own, each from a ticket
 * of the unit alone or as the difference of an empty pair (with one of `others`) and the partner's own.
 *
 * Which tickets are empty ones: `emptyTicketsOf`. Uncertainty: the ticket's, or the scatter of three and more empty
 * tickets where that is larger (fuel and people differ from day to day), and the scale's.
 *
 * Units: lb, k = 1. Errors (as values): no-tare, naming the units without one.
 */
export function tareOf(units: readonly TareUnit[], terms: TareTerms, others: readonly TareUnit[] = []): Result<Tare> {
  const whole = tareFromTickets(units, terms)
  if (whole) return ok(whole)
  const own = units.map((unit) => unitTare(unit, others, terms))
  const missing = units.filter((_, i) => own[i] === undefined).map(({ unit }) => unit)
  if (missing.length > 0) {
    return refuse({
      code: 'no-tare',
      field: 'ticket',
      value: missing.join(', '),
      accepted: phrase('an empty ticket of the combination, or one of each unit'),
      message: phrase('Cargo is unknown: no empty ticket of {units}{units2}', {
        units: units.map(({ unit }) => unit).join(phrase(' with ')),
        units2:
          units.length > 1 ? phrase(', nor of {missing} alone.', { missing: missing.join(phrase(' and ')) }) : '.',
      }),
    })
  }
  const tares = own as Tare[]
  return ok({
    weight: mergeWeights(
      tares.map(({ weight }) => weight),
      tares.map(() => 1),
    ),
    basis: 'sum of units',
    ticketIds: tares.flatMap(({ ticketIds }) => ticketIds),
  })
}
