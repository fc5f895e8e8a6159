import { type StratumLaw, lifeModelOf } from '#core/cells/life-model.ts'
import type { FamilyFigures, FleetEstimates, FleetFigure, ScaleEffect } from '#core/evidence/estimates.ts'
import type { ChangePriors, LineNoise } from '#core/evidence/state/series.ts'
import type { TemperaturePopulation } from '#core/evidence/state/temperature.ts'

/**
 * Everything that is learnt from the whole fleet and then used to judge and weigh each unit: learnt once a day and
 * after an import, kept, and the same for every judgement and every weight until it is learnt anew.
 */
export interface FleetFigures {
  readonly estimates: FleetEstimates
  /** By how much steer weights scatter at one drive weight, lb (k = 1). */
  readonly steerScatterLb: number
  /** The laws of life of the sensor cells, by cell and reporting interval. */
  readonly cellLaws: readonly StratumLaw[]
  /** How far the fleet's readings reach, ms UTC; see `silenceOf`. */
  readonly heardUntil: number
}

/** A figure that moves by less than this is kept: that is less than its own uncertainty is known by. */
const smallestMove = 0.02
const hasMoved = (now: number, then: number): boolean => Math.abs(now - then) > smallestMove * Math.max(now, then)

const anyMoved = (now: readonly number[], then: readonly number[]): boolean =>
  now.length !== then.length || now.some((value, i) => hasMoved(value, then[i] ?? 0))

/** A scale's bias that moves by less than this share of its uncertainty changes no verdict. */
const smallestScaleMove = 0.1

function scaleMoved(then: ScaleEffect | null | undefined, now: ScaleEffect | null): boolean {
  if (!then || !now) return then !== now
  const { gain, u, known, before } = now
  return (
    known !== then.known ||
    Math.abs(gain - then.gain) > smallestScaleMove * u ||
    hasMoved(u, then.u) ||
    scaleMoved(then.before, before)
  )
}

const scalesMoved = (kept: FleetEstimates['scales'], learnt: FleetEstimates['scales']): boolean =>
  kept.size !== learnt.size || [...learnt].some(([scaleId, effect]) => scaleMoved(kept.get(scaleId), effect))

const numbersOf = (figures: object): number[] => Object.values(figures).filter((value) => typeof value === 'number')

function familiesMoved(kept: FleetEstimates['families'], learnt: FleetEstimates['families']): boolean {
  const figuresOf = ({ slope, intercept }: FamilyFigures) => [...numbersOf(slope), ...numbersOf(intercept)]
  return (
    kept.size !== learnt.size ||
    [...learnt].some(([key, family]) => {
      const then = kept.get(key)
      return then === undefined || anyMoved(figuresOf(family), figuresOf(then))
    })
  )
}

function noiseMoved(kept: FleetEstimates['noise'], learnt: FleetEstimates['noise']): boolean {
  return (
    anyMoved(numbersOf(learnt.fleet), numbersOf(kept.fleet)) ||
    kept.kinds.size !== learnt.kinds.size ||
    [...learnt.kinds].some(([key, noise]) => {
      const then = kept.kinds.get(key)
      return then === undefined || anyMoved(numbersOf(noise), numbersOf(then))
    })
  )
}

/** Whether what a fleet taught has moved so far that its weights are others. */
const haveMoved = (kept: FleetEstimates, learnt: FleetEstimates): boolean =>
  scalesMoved(kept.scales, learnt.scales) ||
  familiesMoved(kept.families, learnt.families) ||
  noiseMoved(kept.noise, learnt.noise) ||
  anyMoved(numbersOf(learnt.priors), numbersOf(kept.priors)) ||
  anyMoved(numbersOf(learnt.temperature), numbersOf(kept.temperature))

/**
 * What is used from now on, of what was used so far and what has just been learnt: figures that every weight rests on
 * stay where they moved by less than 2 %, so that a fleet is not weighed anew for a change that nobody could see.
 */
export function settleFigures(kept: FleetFigures | undefined, learnt: FleetFigures): FleetFigures {
  if (!kept) return learnt
  return {
    ...learnt,
    steerScatterLb: hasMoved(learnt.steerScatterLb, kept.steerScatterLb) ? learnt.steerScatterLb : kept.steerScatterLb,
    estimates: haveMoved(kept.estimates, learnt.estimates) ? learnt.estimates : kept.estimates,
  }
}

/** Whether weights made with one set of figures are those that another gives. */
export const weighTheSame = (one: FleetFigures, other: FleetFigures): boolean =>
  one.steerScatterLb === other.steerScatterLb && !haveMoved(one.estimates, other.estimates)

/** The figures with the laws of conditions that had none yet; those that stand stay as they are. */
export function addLaws(figures: FleetFigures, laws: readonly StratumLaw[]): FleetFigures {
  const { lawFor } = lifeModelOf(figures.cellLaws)
  return { ...figures, cellLaws: [...figures.cellLaws, ...laws.filter((law) => lawFor(law) === undefined)] }
}

/** The figures as one JSON text, for keeping. */
export function figuresToText({ estimates, steerScatterLb, cellLaws, heardUntil }: FleetFigures): string {
  const { leveling, wander, scales, families, noise, priors, temperature } = estimates
  return JSON.stringify({
    leveling,
    wander,
    scales: [...scales],
    families: [...families],
    noise: { fleet: noise.fleet, kinds: [...noise.kinds] },
    priors,
    temperature,
    steerScatterLb,
    cellLaws,
    heardUntil,
  })
}

/** What `figuresToText` wrote. */
export function figuresFromText(text: string): FleetFigures {
  const kept = JSON.parse(text) as {
    leveling: FleetFigure
    wander: FleetFigure
    scales: [number, ScaleEffect][]
    families: [string, FamilyFigures][]
    noise: { fleet: LineNoise; kinds: [string, LineNoise][] }
    priors: ChangePriors
    temperature: TemperaturePopulation
    steerScatterLb: number
    cellLaws: StratumLaw[]
    heardUntil: number
  }
  const { leveling, wander, scales, families, noise, priors, temperature } = kept
  return {
    estimates: {
      leveling,
      wander,
      scales: new Map(scales),
      families: new Map(families),
      noise: { fleet: noise.fleet, kinds: new Map(noise.kinds) },
      priors,
      temperature,
    },
    steerScatterLb: kept.steerScatterLb,
    cellLaws: kept.cellLaws,
    heardUntil: kept.heardUntil,
  }
}
