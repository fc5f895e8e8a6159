import type { WeighPreview } from '#core/api/weigh-contract.ts'
import { ranges } from '#core/fleet/range.ts'
import { type LiftState, liftStateOf } from '#core/fleet/vocabulary.ts'
import { mountAt } from '#core/line/calibrate.ts'
import type { CombinationReading } from '#core/weight/weigh-combination.ts'
import type { Measures } from '#renderer/parts/format.ts'
import { type Typed, typedQuantity, typedValue } from '#renderer/parts/typed-quantity.ts'
import { circuitKey, type WeighDraft } from './weigh-draft.ts'

/** A circuit whose pressure is asked for. */
export interface AskedCircuit {
  readonly key: string
  readonly unit: string
  readonly group: string
  readonly groupId: number
  readonly circuit: string
  readonly serial: string | null
  readonly absolute: boolean
  readonly typed: Typed
}

/** What was typed, read: with it the combination is weighed, and saved. */
export interface TypedReading {
  readonly circuits: readonly AskedCircuit[]
  readonly elevation: Typed
  readonly temperature: Typed
  /** Whether a sensor reads absolute pressure, so that the elevation counts. */
  readonly needsElevation: boolean
  /** ms UTC. */
  readonly takenAt: number
  readonly lift: LiftState | null
  readonly reading: CombinationReading
}

/**
 * Reads the draft against the combination that it is about; `now` stands where no time was typed, ms UTC. Numbers
 * without a unit are in the measures in use.
 */
export function readDraft(
  draft: WeighDraft,
  { facts, unitIds, elevationFt }: WeighPreview,
  now: number,
  measures: Measures,
): TypedReading {
  const typedAt = draft.takenAt === '' ? now : new Date(draft.takenAt).getTime()
  const takenAt = Number.isNaN(typedAt) ? now : typedAt
  // As one walks along the units, front to back.
  const walked = facts.histories.toSorted((a, b) => unitIds.indexOf(a.unitId) - unitIds.indexOf(b.unitId))
  const circuits = walked.flatMap((history) =>
    history.circuits.map((circuit): AskedCircuit => {
      const key = circuitKey(history.unit, history.group, circuit.name)
      const mount = mountAt(circuit, takenAt)
      return {
        key,
        unit: history.unit,
        group: history.group,
        groupId: history.groupId,
        circuit: circuit.name,
        serial: mount?.serial ?? null,
        absolute: mount?.reference === 'absolute',
        typed: typedQuantity(draft.pressures[key] ?? '', ranges.psi, measures.pressure),
      }
    }),
  )
  const pressures = new Map<number, (number | null)[]>()
  for (const { groupId, typed } of circuits)
    pressures.set(groupId, [...(pressures.get(groupId) ?? []), typedValue(typed)])
  const elevation = typedQuantity(draft.elevation, ranges.elevationFt, measures.elevation)
  const lift = liftStateOf(draft.lift)
  return {
    circuits,
    elevation,
    takenAt,
    lift,
    temperature: typedQuantity(draft.temperature, ranges.temperatureF, measures.temperature),
    needsElevation: circuits.some(({ absolute }) => absolute),
    reading: {
      takenAt,
      elevationFt: elevation.kind === 'empty' ? elevationFt : typedValue(elevation),
      lift,
      pressures,
      ticket: null,
    },
  }
}
