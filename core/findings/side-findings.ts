import { median } from '#core/findings/evidence/robust.ts'
import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { day, psi } from '#core/findings/words.ts'
import type { CircuitFacts, GroupHistory, Observation } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import { circuitGaugePsi } from '#core/line/calibrate.ts'

const readingsAsked = 5
const fewestReadings = 3
const frontAndRear = /front|rear|axle|fwd|aft/i

interface Look {
  readonly at: number
  readonly difference: number
  readonly mean: number
}

const isPair = ({ circuits }: GroupHistory) =>
  circuits.length === 2 && !circuits.some(({ name }) => frontAndRear.test(name))

/** The two sides at one reading, gauge psi; undefined unless both were read. */
function lookAt({ circuits }: GroupHistory, observation: Observation): Look | undefined {
  const one = circuitGaugePsi(circuits[0] as CircuitFacts, observation, 0)
  const two = circuitGaugePsi(circuits[1] as CircuitFacts, observation, 1)
  return one === null || two === null
    ? undefined
    : { at: observation.takenAt, difference: one - two, mean: (one + two) / 2 }
}

/** Readings of both sides from the newest back, for as long as `goOn` says so. */
function looksBack(history: GroupHistory, goOn: (looks: readonly Look[], look: Look) => boolean): Look[] {
  const looks: Look[] = []
  for (let place = history.observations.length - 1; place >= 0; place -= 1) {
    const look = lookAt(history, history.observations[place] as Observation)
    if (!look) continue
    if (!goOn(looks, look)) break
    looks.push(look)
  }
  return looks
}

/**
 * Left and right pressures that have differed beyond the House Rules over the last five readings (their median).
 * Circuits named by axle are not sides.
 */
export function sideFindings(history: GroupHistory, rules: HouseRules): Finding[] {
  if (!isPair(history)) return []
  const last = looksBack(history, (looks) => looks.length < readingsAsked)
  if (last.length < fewestReadings) return []
  const difference = median(last.map((look) => look.difference))
  const mean = median(last.map((look) => look.mean))
  const boundAt = (meanPsi: number) => Math.max(rules.sideImbalancePsi, (rules.sideImbalancePercent / 100) * meanPsi)
  const bound = boundAt(mean)
  if (Math.abs(difference) <= bound) return []
  const sign = Math.sign(difference)
  const run = looksBack(history, (looks, look) => looks.length === 0 || look.difference * sign > boundAt(look.mean))
  const [one, two] = history.circuits.map(({ name }) => name)
  const since = (run.at(-1) as Look).at
  return [
    groupFinding(history, 'side-imbalance', {
      since,
      circuitId: history.circuits[difference > 0 ? 0 : 1]?.circuitId ?? null,
      numbers: { difference_psi: Math.abs(difference), mean_psi: mean, allowed_psi: bound, readings: last.length },
      message: `Since ${day(since)} circuit ${difference > 0 ? one : two} has stood ${psi(Math.abs(difference))} above ${difference > 0 ? two : one}; ${psi(bound)} is allowed.`,
      nextStep:
        'Look for a leveling valve or link out of setting, a leaking spring or a load off centre; compare both sensors with a gauge.',
    }),
  ]
}
