import type { WeighPreview } from '#core/contracts/weigh.ts'
import { mountAt } from '#core/evidence/read-pressure.ts'
import type { CombinationReading } from '#core/weight/weigh-combination.ts'
import { type LiftState, liftStateOf, ranges } from '#core/words/vocabulary.ts'
import type { Combination } from '#renderer/parts/combination-picker.tsx'
import { type Measures, type Typed, typedQuantity, typedValue } from '#renderer/parts/format.ts'

/** What is being typed on Weigh now. It outlives the window, so that a reading half typed is still there tomorrow. */
export interface WeighDraft extends Combination {
  /** As the lists of words have it; empty: not recorded. */
  readonly lift: string
  readonly elevation: string
  /** Local date and time as the field gives it; empty: now. */
  readonly takenAt: string
  readonly temperature: string
  readonly note: string
  readonly driver?: string
  readonly lane?: string
  /** As typed, by circuit. */
  readonly pressures: Readonly<Record<string, string>>
}

/** Under which what is typed is kept. */
export const weighDraftName = 'weigh-now'

export const emptyDraft: WeighDraft = {
  lead: null,
  trailers: [],
  lift: '',
  elevation: '',
  takenAt: '',
  temperature: '',
  note: '',
  pressures: {},
}

/** Whether more is typed than which units stand together. */
export const isFilledIn = (draft: WeighDraft): boolean =>
  Object.values(draft.pressures).some((text) => text.trim() !== '') ||
  [draft.elevation, draft.takenAt, draft.temperature, draft.note, draft.driver, draft.lane].some((text) => text?.trim())

const circuitKey = (unit: string, group: string, circuit: string): string => `${unit}/${group}/${circuit}`

/** A circuit whose pressure is asked for. */
export interface AskedCircuit {
  readonly key: string
  readonly unit: string
  readonly group: string
  readonly groupId: number
  readonly circuit: string
  readonly serial: string | null
  readonly absolute: boolean
  /** What its sensor can show, psi; null where that is not on record. */
  readonly rangePsi: number | null
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
  /** Why what is typed is no time; null where nothing is typed, or one is. */
  readonly noTime: string | null
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
  const time = measures.times.read(draft.takenAt)
  const takenAt = time.ok ? Date.parse(time.value) : now
  // As one walks along the units, front to back.
  const walked = facts.record.groups.toSorted((a, b) => unitIds.indexOf(a.unitId) - unitIds.indexOf(b.unitId))
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
        rangePsi: mount?.rangePsi ?? null,
        typed: typedQuantity(draft.pressures[key] ?? '', ranges.psi, measures.pressure),
      }
    }),
  )
  const pressures = new Map<number, (number | null)[]>()
  for (const { groupId, typed } of circuits)
    pressures.set(groupId, [...(pressures.get(groupId) ?? []), typedValue(typed)])
  const elevation = typedQuantity(draft.elevation, ranges.elevationFt, measures.elevation)
  const lift = liftStateOf(draft.lift)
  const temperature = typedQuantity(draft.temperature, ranges.temperatureF, measures.temperature)
  return {
    circuits,
    elevation,
    takenAt,
    noTime: draft.takenAt === '' || time.ok ? null : time.message,
    lift,
    temperature,
    needsElevation: circuits.some(({ absolute }) => absolute),
    reading: {
      takenAt,
      elevationFt: elevation.kind === 'empty' ? elevationFt : typedValue(elevation),
      temperatureF: typedValue(temperature),
      lift,
      pressures,
      ticket: null,
    },
  }
}
