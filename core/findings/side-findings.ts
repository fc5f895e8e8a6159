import { median } from '#core/findings/evidence/robust.ts'
import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { day, psi } from '#core/findings/words.ts'
import type { GroupHistory } from '#core/fleet/history.ts'
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

/** Gauge pressures of both circuits of a left-and-right pair, oldest first. Circuits named by axle are not sides. */
function sideLooks({ circuits, observations }: GroupHistory): Look[] {
  const [left, right] = circuits
  if (circuits.length !== 2 || !left || !right || circuits.some(({ name }) => frontAndRear.test(name))) return []
  return observations.flatMap((observation) => {
    const one = circuitGaugePsi(left, observation, 0)
    const two = circuitGaugePsi(right, observation, 1)
    return one === null || two === null ? [] : [{ at: observation.takenAt, difference: one - two, mean: (one + two) / 2 }]
  })
}

/** Left and right pressures that have differed beyond the House Rules over the last five readings (their median). */
export function sideFindings(history: GroupHistory, rules: HouseRules): Finding[] {
  const looks = sideLooks(history)
  const last = looks.slice(-readingsAsked)
  if (last.length < fewestReadings) return []
  const difference = median(last.map((look) => look.difference))
  const mean = median(last.map((look) => look.mean))
  const bound = Math.max(rules.sideImbalancePsi, (rules.sideImbalancePercent / 100) * mean)
  if (Math.abs(difference) <= bound) return []
  const sign = Math.sign(difference)
  let from = looks.length - 1
  while (from > 0) {
    const look = looks[from - 1] as Look
    if (look.difference * sign <= Math.max(rules.sideImbalancePsi, (rules.sideImbalancePercent / 100) * look.mean)) break
    from -= 1
  }
  const [one, two] = history.circuits.map(({ name }) => name)
  const since = (looks[from] as Look).at
  return [groupFinding(history, 'side-imbalance', {
    since,
    circuitId: history.circuits[difference > 0 ? 0 : 1]?.circuitId ?? null,
    numbers: { difference_psi: Math.abs(difference), mean_psi: mean, allowed_psi: bound, readings: last.length },
    message: `Since ${day(since)} circuit ${difference > 0 ? one : two} has stood ${psi(Math.abs(difference))} above ${difference > 0 ? two : one}; ${psi(bound)} is allowed.`,
    nextStep: 'Look for a leveling valve or link out of setting, a leaking spring or a load off centre; compare both sensors with a gauge.',
  })]
}
