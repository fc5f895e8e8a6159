import { type StratumLaw, lifeModelOf } from '#core/cells/life-model.ts'
import type { FamilyFigures, FleetEstimates, FleetFigure, ScaleEffect } from '#core/evidence/estimates.ts'

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
}

/** A figure that moves by less than this is kept: that is less than its own uncertainty is known by. */
const smallestMove = 0.02
const hasMoved = (now: number, then: number): boolean => Math.abs(now - then) > smallestMove * Math.max(now, then)

const settleFigure = (kept: FleetFigure, learnt: FleetFigure): FleetFigure =>
  kept.u === null || learnt.u === null || hasMoved(learnt.value, kept.value) ? learnt : kept

/**
 * What is used from now on, of what was used so far and what has just been learnt: figures that every weight rests on
 * stay where they moved by less than 2 %, so that a fleet is not weighed anew for a change that nobody could see.
 */
export function settleFigures(kept: FleetFigures | undefined, learnt: FleetFigures): FleetFigures {
  if (!kept) return learnt
  return {
    ...learnt,
    steerScatterLb: hasMoved(learnt.steerScatterLb, kept.steerScatterLb) ? learnt.steerScatterLb : kept.steerScatterLb,
    estimates: {
      ...learnt.estimates,
      leveling: settleFigure(kept.estimates.leveling, learnt.estimates.leveling),
      wander: settleFigure(kept.estimates.wander, learnt.estimates.wander),
    },
  }
}

/** Whether weights made with one set of figures are those that another gives. */
export const weighTheSame = (one: FleetFigures, other: FleetFigures): boolean =>
  one.steerScatterLb === other.steerScatterLb &&
  one.estimates.leveling.value === other.estimates.leveling.value &&
  one.estimates.wander.value === other.estimates.wander.value

/** The figures with the laws of conditions that had none yet; those that stand stay as they are. */
export function addLaws(figures: FleetFigures, laws: readonly StratumLaw[]): FleetFigures {
  const { lawFor } = lifeModelOf(figures.cellLaws)
  return { ...figures, cellLaws: [...figures.cellLaws, ...laws.filter((law) => lawFor(law) === undefined)] }
}

/** The figures as one JSON text, for keeping. */
export function figuresToText({ estimates, steerScatterLb, cellLaws }: FleetFigures): string {
  const { leveling, wander, scales, families } = estimates
  return JSON.stringify({
    leveling,
    wander,
    scales: [...scales],
    families: [...families],
    steerScatterLb,
    cellLaws,
  })
}

/** What `figuresToText` wrote. */
export function figuresFromText(text: string): FleetFigures {
  const { leveling, wander, scales, families, steerScatterLb, cellLaws } = JSON.parse(text) as {
    leveling: FleetFigure
    wander: FleetFigure
    scales: [number, ScaleEffect][]
    families: [string, FamilyFigures][]
    steerScatterLb: number
    cellLaws: StratumLaw[]
  }
  return {
    estimates: { leveling, wander, scales: new Map(scales), families: new Map(families) },
    steerScatterLb,
    cellLaws,
  }
}
