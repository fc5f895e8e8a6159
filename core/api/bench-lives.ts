import type { BenchCostView, BenchLivesView } from '#core/api/bench-contract.ts'
import { type BenchNow, commonConditions } from '#core/api/bench-now.ts'
import { yearlyCost } from '#core/battery/interval-cost.ts'
import { survivalCurve } from '#core/battery/kaplan-meier.ts'
import type { StratumLaw } from '#core/battery/life-model.ts'
import type { LifeCondition } from '#core/battery/life-prior.ts'
import type { CellLife } from '#core/battery/lives.ts'
import { swapsByMonth } from '#core/battery/swap-record.ts'
import { weibullQuantileDays, weibullSurvival } from '#core/battery/weibull.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'

/** More steps than a screen has points are thinned evenly; the last always stays. */
const mostSteps = 400
const lawPoints = 81

function thinned<T>(steps: readonly T[]): T[] {
  const every = Math.ceil(steps.length / mostSteps)
  return steps.filter((_, i) => i % every === 0 || i === steps.length - 1)
}

function viewObserved(lives: readonly CellLife[], confidence: number) {
  const { steps, medianDays, deaths } = survivalCurve(lives, confidence)
  const shown = thinned(steps)
  return {
    medianDays,
    died: deaths,
    observed: {
      days: [0, ...shown.map(({ days }) => days)],
      alive: [1, ...shown.map(({ survival }) => survival)],
      lower: [1, ...shown.map(({ lower }) => lower)],
      upper: [1, ...shown.map(({ upper }) => upper)],
    },
  }
}

function viewLaw(law: StratumLaw, confidence: number) {
  const last = weibullQuantileDays(law, 0.995)
  const days = Array.from({ length: lawPoints }, (_, i) => (last * i) / (lawPoints - 1))
  const at = days.map((day) => weibullSurvival(law, day, confidence))
  return {
    days,
    alive: at.map(({ survival }) => survival),
    lower: at.map(({ lower }) => lower),
    upper: at.map(({ upper }) => upper),
  }
}

/**
 * Life curves by cell and interval: what was observed, the law with its band, and the figures in words. Conditions that
 * nobody ever used are left out.
 */
export function viewLives({ cells: { asOf, lives, mounted, model, outlookOf }, rules }: BenchNow): BenchLivesView {
  const confidence = 0.95
  const livesOf = new Map<StratumLaw, CellLife[]>()
  for (const life of lives) {
    const law = model.lawFor(life) as StratumLaw
    const known = livesOf.get(law)
    if (known) known.push(life)
    else livesOf.set(law, [life])
  }
  const sensors = new Map<StratumLaw, number>()
  for (const { outlook } of mounted) {
    const law = model.lawFor(outlook) as StratumLaw
    sensors.set(law, (sensors.get(law) ?? 0) + 1)
  }
  const strata = model.strata
    .filter((law) => livesOf.has(law) || sensors.has(law))
    .map((law) => {
      const own = livesOf.get(law) ?? []
      const half = 1.959963984540054 * Math.sqrt(law.varLnLife)
      const outlook = outlookOf(law)
      return {
        cell: law.cell,
        reportEveryS: law.reportEveryS,
        sensors: sensors.get(law) ?? 0,
        lives: own.length,
        low: own.filter(({ endedBy }) => endedBy === 'low').length,
        lifeDays: law.lifeDays,
        lifeLowDays: law.lifeDays * Math.exp(-half),
        lifeHighDays: law.lifeDays * Math.exp(half),
        shape: law.shape,
        swapAgeDays: outlook.ageAtRisk(0, rules.batteryRiskPercent / 100),
        predictedLifeDays: outlook.predictedLifeDays,
        ...viewObserved(own, confidence),
        law: viewLaw(law, confidence),
      }
    })
  return {
    asOf: toStoredInstant(asOf),
    confidence,
    strata: strata.sort((p, q) => q.sensors - p.sensors || q.lives - p.lives),
  }
}

/** What swapping cost by month, and what one sensor would take a year at faster intervals. */
export function viewCost({ cells: { asOf, lives, mounted, model, outlookOf }, rules }: BenchNow): BenchCostView {
  const yearlyAt = (condition: LifeCondition) => ({
    reportEveryS: condition.reportEveryS,
    ...yearlyCost(outlookOf(model.lawFor(condition) as StratumLaw), rules.batteryRiskPercent / 100),
  })
  return {
    asOf: toStoredInstant(asOf),
    months: swapsByMonth(lives, model, rules),
    riskPercent: rules.batteryRiskPercent,
    intervals: commonConditions(mounted.map(({ outlook }) => outlook)).map(({ condition, sensors, faster }) => ({
      cell: condition.cell,
      sensors,
      now: yearlyAt(condition),
      faster: faster.map(yearlyAt),
    })),
  }
}
