import type { CircuitFacts, GroupFacts, MountFacts, Observation } from '#core/evidence/history.ts'
import { gaugePsi } from '#core/evidence/pressure.ts'

/** What a pressure is read from; psi as read, in the order of the group's circuits. */
export type PressureReading = Pick<Observation, 'takenAt' | 'elevationFt' | 'lift' | 'psi'>

/** The circuits of a line by their places in the group, and the share of each in the group's pressure. */
export interface LineCircuits {
  readonly circuits: readonly number[]
  readonly shares: readonly number[]
}

/** A group's gauge pressure with the part of its variance that the sensors' resolutions bring, psi and psi². */
export interface ReadPressure {
  readonly psi: number
  readonly resolutionVarPsi2: number
}

/** Why an observation has no pressure to compare with a line, and on which circuit. */
export type NoPressure =
  | { readonly reason: 'no pressure'; readonly circuit: CircuitFacts | undefined }
  | { readonly reason: 'elevation unknown'; readonly circuit: CircuitFacts; readonly serial: string }

/** The sensor on a circuit at a time, ms UTC. */
export const mountAt = ({ mounts }: CircuitFacts, at: number): MountFacts | undefined =>
  mounts.findLast(({ mountedAt, removedAt }) => mountedAt <= at && (removedAt === null || at < removedAt))

/**
 * The gauge pressure of the circuit at a place of its group, psi, with the sensor that showed it; or why there is none.
 */
export function circuitPressure(
  { circuits }: Pick<GroupFacts, 'circuits'>,
  place: number,
  { takenAt, elevationFt, psi }: PressureReading,
): { readonly psi: number; readonly mount: MountFacts | undefined } | NoPressure {
  const circuit = circuits[place]
  const raw = psi[place] ?? null
  if (circuit === undefined || raw === null) return { reason: 'no pressure', circuit }
  const mount = mountAt(circuit, takenAt)
  const gauge = gaugePsi(raw, mount?.reference ?? 'gauge', elevationFt)
  return gauge === null ? { reason: 'elevation unknown', circuit, serial: mount?.serial ?? '' } : { psi: gauge, mount }
}

/**
 * The pressure that an observation has for a line: the mean of the line's circuits, weighted by their air springs. The
 * one rule for everybody: a circuit of the line that was not read, or an absolute sensor at an unknown elevation,
 * leaves no pressure, since the mean without it is another quantity.
 *
 * resolutionPsi: of sensors whose own is not on record. Each resolution r brings (share · r)²/12, independent between
 * circuits. Source of r/√12: JCGM 100:2008 (GUM) 4.3.7.
 */
export function readPressure(
  group: Pick<GroupFacts, 'circuits'>,
  { circuits, shares }: LineCircuits,
  observation: PressureReading,
  resolutionPsi: number,
): ReadPressure | NoPressure {
  let psi = 0
  let resolutionVarPsi2 = 0
  // By places: a fleet reads some millions of pressures, and pairs of an iterator cost as much as reading them.
  for (let i = 0; i < circuits.length; i += 1) {
    const read = circuitPressure(group, circuits[i] as number, observation)
    if ('reason' in read) return read
    const share = shares[i] ?? 0
    const part = share * (read.mount?.resolutionPsi ?? resolutionPsi)
    psi += share * read.psi
    resolutionVarPsi2 += (part * part) / 12
  }
  return circuits.length === 0 ? { reason: 'no pressure', circuit: undefined } : { psi, resolutionVarPsi2 }
}

/** Whether a circuit was read, whatever can be made of it. */
const wasRead = ({ psi }: Pick<Observation, 'psi'>, place: number): boolean => (psi[place] ?? null) !== null

/** The circuits that a line of these points rests on: those read in every one of them, by their places in the group. */
export const circuitsOfPoints = (
  { circuits }: Pick<GroupFacts, 'circuits'>,
  points: readonly Pick<Observation, 'psi'>[],
): number[] => [...circuits.keys()].filter((place) => points.every((point) => wasRead(point, place)))
