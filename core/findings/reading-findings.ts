import type { CircuitFacts, GroupHistory, Observation } from '#core/evidence/history.ts'
import type { GroupLine } from '#core/evidence/line-in-use.ts'
import { mountAt } from '#core/evidence/read-pressure.ts'
import { isHeardOf, silenceOf } from '#core/evidence/silence.ts'
import type { LifeState } from '#core/evidence/state/life-states.ts'
import type { AssessmentContext } from '#core/findings/assessment.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { doublings } from '#core/findings/set-aside.ts'
import { dayMs } from '#core/words/instant.ts'

/** Since when the circuit at a place of its group is silent. */
function silentCircuit({ observations, circuits }: GroupHistory, place: number, asOf: number, heardUntil: number) {
  const isRead = ({ psi }: Observation) => (psi[place] ?? null) !== null
  const last = observations.findLast(isRead)
  // Only of the few that are not heard of any more are all times gathered.
  if (last === undefined || isHeardOf(last.takenAt, heardUntil)) return undefined
  const mounted = mountAt(circuits[place] as CircuitFacts, asOf)
  const times = observations.filter(isRead).map(({ takenAt }) => takenAt)
  return mounted && silenceOf(times, mounted.mountedAt, heardUntil)
}

/** Sensors that have fallen silent for much longer than their interval and the unit's use explain. */
export function silentFindings(
  history: GroupHistory,
  { asOf, heardUntil }: Pick<AssessmentContext, 'asOf' | 'heardUntil'>,
): Finding[] {
  const { circuits } = history
  const silent = circuits.flatMap((circuit, place) => {
    const found = silentCircuit(history, place, asOf, heardUntil)
    return found === undefined ? [] : [{ circuit, ...found }]
  })
  const sensed = circuits.filter((circuit) => mountAt(circuit, asOf) !== undefined)
  // All of a group at once is one thing to be told.
  const all = silent.length === sensed.length
  return (all ? silent.slice(0, 1) : silent).map(({ circuit, from, usualMs }) => {
    const silentDays = Math.floor((asOf - from) / dayMs)
    const usualDays = Math.max(1, Math.ceil(usualMs / dayMs))
    return groupFinding(
      history,
      'sensor-silent',
      'readings',
      { from, silentDays, usualDays, circuit: all ? null : circuit.name },
      {
        since: from,
        circuitId: all && circuits.length > 1 ? null : circuit.circuitId,
        restsOn: `${circuit.circuitId}/${from}/${doublings(silentDays, usualDays)}`,
        numbers: { silent_days: silentDays, usual_days: usualDays },
      },
    )
  })
}

/** Joined by a sign, since what is found is kept past the language in which it is said. */
const namesOf = ({ circuits }: GroupHistory, places: readonly number[]): string =>
  places.map((place) => circuits[place]?.name ?? '').join(' + ')

/** Readings, or points of a line, that were taken on some of the group's circuits only. */
export function circuitFindings(history: GroupHistory, line: GroupLine): Finding[] {
  const { circuits, observations } = history
  if (circuits.length < 2) return []
  const { calibration, holdsFrom } = line
  const left = [...circuits.keys()].filter((place) => {
    const circuit = circuits[place]
    return !line.circuits.includes(place) && circuit !== undefined && mountAt(circuit, holdsFrom) !== undefined
  })
  if (left.length > 0) {
    const facts = {
      calibratedAt: calibration.calibratedAt,
      read: namesOf(history, line.circuits),
      missing: namesOf(history, left),
    }
    return [
      groupFinding(history, 'one-circuit-read', 'line', facts, {
        since: calibration.calibratedAt,
        restsOn: `${calibration.calibrationId}/${left.join('/')}`,
        numbers: { circuits_read: line.circuits.length, circuits: circuits.length },
      }),
    ]
  }
  const unread = (psi: readonly (number | null)[]) => line.circuits.filter((place) => (psi[place] ?? null) === null)
  const since = observations.filter(({ takenAt }) => takenAt > calibration.calibratedAt)
  const partly = since.filter(({ psi }) => {
    const missing = unread(psi).length
    return missing > 0 && missing < line.circuits.length
  })
  const [first] = partly
  if (first === undefined) return []
  const missing = line.circuits.filter((place) => partly.some(({ psi }) => (psi[place] ?? null) === null))
  return [
    groupFinding(
      history,
      'one-circuit-read',
      'readings',
      { readings: partly.length, from: first.takenAt, missing: namesOf(history, missing) },
      {
        // Where the newest one lacks it too, the group cannot be weighed now.
        severity: partly.at(-1) === since.at(-1) ? 'warn' : 'note',
        since: first.takenAt,
        circuitId: missing.length === 1 ? (circuits[missing[0] as number]?.circuitId ?? null) : null,
        restsOn: `${calibration.calibrationId}/${missing.join('/')}/${doublings(partly.length, 1)}`,
        numbers: { readings: partly.length, circuits: circuits.length },
      },
    ),
  ]
}

/** A sensor that surely follows the weather. */
export function weatherFindings(history: GroupHistory, physical: LifeState | undefined): Finding[] {
  if (physical === undefined || physical.weather.psiPerDegree === 0) return []
  const { psiPerDegree, u, probability } = physical.weather
  return [
    groupFinding(
      history,
      'follows-weather',
      'sensor',
      { psiPerDegree },
      {
        since: null,
        restsOn: `${psiPerDegree > 0 ? 'more' : 'less'}/${doublings(psiPerDegree, 0.01)}`,
        numbers: { psi_per_degree_f: psiPerDegree, u_psi_per_degree_f: u, probability },
      },
    ),
  ]
}
