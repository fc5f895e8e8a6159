import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import type { LineLife } from '#core/evidence/line-life.ts'
import type { Slip } from '#core/evidence/slips.ts'
import { type LifeState, type StateFacts, settlingPsi } from '#core/evidence/state/life-states.ts'
import type { SlipOption, WeighedPoint } from '#core/evidence/state/series.ts'
import { opinionOf } from '#core/evidence/state/troubles.ts'
import { coverageFactor } from '#core/words/coverage.ts'
import { barPerPsi, kPaPerPsi } from '#core/words/measures.ts'

/** What naming slips needs of the whole record. */
export interface SlipFacts extends StateFacts {
  /** The lives of another group's lines, where they are known. */
  readonly livesOf: (groupId: number) => readonly LineLife[] | undefined
}

/** A slip is named where it is so many times as probable as that noise alone made the weighing miss; a choice. */
const slipOdds = 20

const misses = 3

/** Whether a weight fits another group's line at its own reading of the same ticket; null when that cannot be told. */
function fitsOther(
  lives: readonly LineLife[] | undefined,
  ticketId: number | null,
  weightLb: number,
): { fits: boolean; ownMisses: boolean } | null {
  for (const life of lives ?? []) {
    const check = life.checks.find(({ observation }) => observation.ticketId === ticketId)
    if (!check) continue
    const { fit, line } = life.line
    const read = fit.a + fit.b * check.psi
    const sigma = Math.sqrt(check.varLb2 + line.uA ** 2 + 2 * check.psi * line.covAB + (check.psi * line.uB) ** 2)
    return {
      fits: Math.abs(weightLb - read) <= misses * sigma,
      ownMisses: Math.abs(check.observation.weightLb - read) > misses * sigma,
    }
  }
  return null
}

/**
 * Whether a slip moves a weight by more than a ticket and a settling scatter anyhow. A unit of pressure always does.
 */
function matters({ series, noise }: LifeState, { weightLb, varOtherLb2 }: WeighedPoint, option: SlipOption): boolean {
  if (option.code === 'wrong-pressure-unit') return true
  const settling = series.slopeLbPerPsi * settlingPsi(noise)
  return Math.abs(option.weightLb - weightLb) > coverageFactor * Math.sqrt(varOtherLb2 + settling * settling)
}

/** A slip as it is told: what was typed, and what would fit. */
function slipOf(
  { circuits }: GroupHistory,
  { line }: LifeState,
  { weightLb, ticketId, psi }: Observation,
  option: SlipOption,
): Slip | null {
  const { code, weightLb: fitsLb, otherGroupId, unit, place = null } = option
  if (code === 'wrong-pressure-unit') {
    if (unit === undefined) return null
    const typed = (place === null ? line.circuits : [place]).flatMap((one) => psi[one] ?? [])
    const typedPsi = typed.reduce((sum, one) => sum + one, 0) / typed.length
    const fitsPsi = typedPsi / (unit === 'kPa' ? kPaPerPsi : barPerPsi)
    return { code, unit, typedPsi, fitsPsi, circuitId: place === null ? null : (circuits[place]?.circuitId ?? null) }
  }
  if (weightLb === null || ticketId === null) return null
  if (code === 'digits-transposed') return { code, typedLb: weightLb, fitsLb, ticketId }
  return otherGroupId === undefined ? null : { code, typedLb: weightLb, fitsLb, ticketId, otherGroupId }
}

/** The simple slips among the weighings of a life, by the ids of their readings. Offered, never applied. */
export function namedSlips(history: GroupHistory, life: LifeState, { livesOf }: SlipFacts): Map<number, Slip> {
  const named = new Map<number, Slip>()
  for (let place = 0; place < life.observations.length; place += 1) {
    const observation = life.observations[place] as Observation
    const { slip, wild, slipPlace } = opinionOf(life.state, place)
    const option = slip > slipOdds * (1 - slip - wild) ? life.state.columns.slips(place)[slipPlace]?.option : undefined
    if (option === undefined || !matters(life, life.series.points[place] as WeighedPoint, option)) continue
    const other =
      option.otherGroupId === undefined
        ? null
        : fitsOther(livesOf(option.otherGroupId), observation.ticketId, observation.weightLb as number)
    if (other?.fits === false || (wild > slip && other?.ownMisses !== true)) continue
    const told = slipOf(history, life, observation, option)
    if (told !== null) named.set(observation.readingId, told)
  }
  return named
}
