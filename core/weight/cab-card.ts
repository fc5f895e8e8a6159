import { mountAt } from '#core/evidence/read-pressure.ts'
import { sumWeights } from '#core/weight/correlated.ts'
import { estimateSteer } from '#core/weight/steer.ts'
import {
  type LoadTo,
  type PressureReader,
  type PressureTable,
  loadTo,
  pressureReader,
  pressureTable,
} from '#core/weight/target-pressure.ts'
import type { PreparedGroup } from '#core/weight/weigh.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import type { WhyUnweighed } from '#core/words/sentences/unweighed.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** A group's table for one position of the lift axles. */
export interface CabTable extends PressureTable {
  /** How the lift axles must stand for it to hold; null where that does not matter. */
  readonly lift: 'raised' | 'lowered' | null
  readonly loadTo: LoadTo
  readonly calibratedAt: number
  /** Recorded work ended the line of `calibratedAt`: the table rests on the weighings since then. */
  readonly isProvisional: boolean
  /** Circuits whose mean, weighted by their air springs, is the pressure; empty where there is only one. */
  readonly meanOf: readonly string[]
  /** Whether a sensor of it shows absolute pressure. */
  readonly isAbsolute: boolean
  /** The steer weight estimated at each step, lb, on the table of the drive group it follows. */
  readonly steer: {
    readonly group: string
    readonly limitLb: number
    readonly weightsLb: readonly { readonly weightLb: number; readonly uLb: number }[]
  } | null
}

export interface CabGroup {
  readonly groupId: number
  readonly group: string
  readonly axles: number
  readonly limitLb: number
  readonly tables: readonly CabTable[]
  /** Why there is no table; null where there is one. */
  readonly why: WhyUnweighed | null
}

/** What reads a group's pressures at a time: one that fits any lift state, or one each. */
function readersOf(
  group: PreparedGroup,
  at: number,
): { readonly readers: readonly PressureReader[]; readonly why: WhyUnweighed | null } {
  const readers: PressureReader[] = []
  for (const lift of ['raised', 'lowered'] as const) {
    const reader = pressureReader(group, at, lift)
    if (!('reason' in reader) && readers.every(({ line }) => line !== reader.line)) readers.push(reader)
  }
  const first = pressureReader(group, at, null)
  return { readers, why: readers.length > 0 ? null : 'reason' in first ? first.why : ['no line holds', {}] }
}

function steerOf(
  { plan }: ReadyCombination,
  unitId: number,
  driveGroupId: number,
  lift: LiftState | null,
  { weightOf }: PressureReader,
  { steps }: PressureTable,
): CabTable['steer'] {
  const steer = plan.groups.find((group) => group.unitId === unitId && group.driveGroupId === driveGroupId)
  const model = steer && plan.steer(unitId, lift)
  if (!steer || !model?.ok) return null
  return {
    group: steer.place.group,
    limitLb: steer.limitLb,
    weightsLb: steps.map(({ psi }) => sumWeights([estimateSteer(model.value, weightOf(psi))])),
  }
}

/** Steps of each table by how many tables are to fit on one page. */
const mostSteps = (tables: number): number => (tables <= 1 ? 36 : tables <= 3 ? 32 : 12)

/**
 * What a driver can read off for every axle group of the units at a time, ms UTC, in the order of the plan; the tables
 * in round steps of a gauge (`gaugeStepPsi`).
 */
export function cabGroups(ready: ReadyCombination, at: number, gaugeStepPsi: number): CabGroup[] {
  const { plan } = ready
  const { verdictConfidencePercent } = plan.rules
  const found = plan.groups.map(({ prepared }) =>
    prepared?.sensed ? readersOf(prepared, at) : { readers: [], why: null },
  )
  const steps = mostSteps(found.reduce((sum, { readers }) => sum + readers.length, 0))
  return plan.groups.map(({ unitId, place, limitLb, prepared, isEstimate, name }, i): CabGroup => {
    const head = { groupId: place.groupId, group: place.group, axles: place.axles, limitLb }
    if (prepared === null || !prepared.sensed) {
      const why = isEstimate ? (['estimated, no gauge', { name }] as const) : (['no gauge', { name }] as const)
      return { ...head, tables: [], why }
    }
    const { readers, why } = found[i] as (typeof found)[number]
    const tables = readers.flatMap((reader): CabTable[] => {
      const table = pressureTable(reader, limitLb, verdictConfidencePercent, steps, gaugeStepPsi)
      if (!table) return []
      const { line, isProvisional } = reader
      const circuits = reader.circuits.circuits
        .map((circuit) => prepared.circuits[circuit])
        .filter((circuit) => circuit !== undefined)
      const lift = line.lift === 'raised' || line.lift === 'lowered' ? line.lift : null
      return [
        {
          ...table,
          lift,
          loadTo: loadTo(prepared, limitLb, verdictConfidencePercent, at, lift),
          calibratedAt: line.calibratedAt,
          isProvisional,
          meanOf: circuits.length > 1 ? circuits.map(({ name: circuit }) => circuit) : [],
          isAbsolute: circuits.some((circuit) => mountAt(circuit, at)?.reference === 'absolute'),
          steer: steerOf(ready, unitId, place.groupId, lift, reader, table),
        },
      ]
    })
    return { ...head, tables, why: tables.length > 0 ? null : (why ?? ['line falls', {}]) }
  })
}
