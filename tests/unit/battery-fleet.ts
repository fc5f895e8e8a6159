import { type CellHistory, type CellInService, type CellLife, cellLives } from '#core/cells/lives.ts'
import { seeded } from '#tests/seeded.ts'

const dayMs = 86_400_000
/** The first day of the simulated fleets. */
const start = Date.UTC(2022, 0, 3)

export interface Condition {
  readonly cell: string
  readonly reportEveryS: number
  /** The true characteristic life, days. */
  readonly lifeDays: number
  /** How often it is met, in proportion. */
  readonly share: number
}

export interface FleetPlan {
  readonly seed: number
  readonly sensors: number
  readonly shape: number
  readonly conditions: readonly Condition[]
  /**
   * Share of cells that are swapped on schedule if they live so long, and at which part of their characteristic life.
   */
  readonly scheduledShare: number
  readonly scheduledAt: readonly [number, number]
  readonly days: number
}

export interface SimulatedFleet {
  readonly histories: readonly CellHistory[]
  readonly lives: readonly CellLife[]
  readonly inService: readonly CellInService[]
  readonly asOf: number
}

function pick(conditions: readonly Condition[], at: number): Condition {
  let passed = 0
  for (const condition of conditions) {
    passed += condition.share
    if (at < passed) return condition
  }
  return conditions.at(-1) as Condition
}

/** A fleet whose cells die by known Weibull laws and are swapped when dead or, some of them, on schedule. */
export function simulateFleet({
  seed,
  sensors,
  shape,
  conditions,
  scheduledShare,
  scheduledAt,
  days,
}: FleetPlan): SimulatedFleet {
  const random = seeded(seed)
  const asOf = start + days * dayMs
  const all = conditions.reduce((sum, { share }) => sum + share, 0)
  const histories = Array.from({ length: sensors }, (_, i): CellHistory => {
    const condition = pick(conditions, random() * all)
    const mountedAt = start + Math.floor(random() * 180) * dayMs
    const changes: CellHistory['changes'][number][] = [{ changedAt: mountedAt, reason: 'new', cell: null }]
    for (let at = mountedAt; ; ) {
      const life = condition.lifeDays * (-Math.log(1 - random())) ** (1 / shape)
      const [from, to] = scheduledAt
      const planned =
        random() < scheduledShare ? condition.lifeDays * (from + (to - from) * random()) : Number.POSITIVE_INFINITY
      at += Math.max(1, Math.round(Math.min(life, planned))) * dayMs
      if (at > asOf) break
      changes.push({ changedAt: at, reason: life <= planned ? 'dead' : 'scheduled', cell: null })
    }
    return {
      serial: `S${i}`,
      cell: condition.cell,
      reportEveryS: condition.reportEveryS,
      mounts: [{ mountedAt, removedAt: null }],
      changes,
    }
  })
  const derived = histories.map((history) => cellLives(history, asOf, 'UTC'))
  return {
    histories,
    asOf,
    lives: derived.flatMap(({ lives }) => lives),
    inService: derived.flatMap(({ inService }) => inService ?? []),
  }
}
