import { describe, expect, it } from 'vitest'
import { columnsOf } from '#core/evidence/state/columns.ts'
import { lineState } from '#core/evidence/state/line-state.ts'
import { filterPass, passFor, plainCourse, smoothPass } from '#core/evidence/state/passes.ts'
import { courseOf, jumpSizes, logPriorOf, placeChanges } from '#core/evidence/state/place-changes.ts'
import { type ChangePriors, type LifeSeries, type LineNoise, changeKinds } from '#core/evidence/state/series.ts'
import { sitesFor, stride } from '#core/evidence/state/sites.ts'
import { monthMs } from '#core/line/track.ts'
import { relativeError } from '#tests/reference/closeness.ts'
import nile from '#tests/reference/nile-local-level.json' with { type: 'json' }
import { some } from '#tests/some.ts'

const { data, published, computed } = nile
const firstYear = data.first_year

const noTrouble: ChangePriors = {
  offsetsPerYear: 0.12,
  slopesPerYear: 0.12,
  driftsPerYear: 0.06,
  offsetPsi: 300,
  slopeShare: 0.1,
  driftPsiPerMonth: 10,
  wildShare: 0,
  wildPsi: 1,
}

/** The river as a line that is only ever read at its empty pressure: one level, a year taken for a month. */
const river = (): LifeSeries => ({
  points: data.flow_1e8_m3.map((flow, i) => ({
    at: i * monthMs,
    psi: 0,
    weightLb: flow,
    varOtherLb2: 0,
    scaleId: 1,
    scaleGain: 0,
    uScaleGain: 0,
  })),
  emptyPsi: 0,
  limitPsi: 100,
  slopeLbPerPsi: 1,
  prior: { atEmpty: 0, atLimit: 0, varEmpty: 1e9, varLimit: 1e9, cov: 0 },
})

/** Every weighing carries 1 lb² of its own besides. */
const noiseOf = (varObservation: number, varLevel: number): LineNoise => ({
  levelingPsi: Math.sqrt(varObservation - 1),
  tailShare: 0,
  tailScale: 1,
  wanderPsi: Math.sqrt(varLevel),
  endsCorrelation: 0,
})

function follow(varObservation: number, varLevel: number) {
  const columns = columnsOf(river(), noiseOf(varObservation, varLevel), noTrouble)
  const pass = filterPass(
    columns,
    plainCourse,
    columns.prior,
    false,
    sitesFor(columns.size),
    false,
    passFor(columns.size),
  )
  return { columns, pass }
}

const logLikelihood = (varObservation: number, varLevel: number): number =>
  follow(varObservation, varLevel).pass.logDensity.reduce((sum, value) => sum + value, 0)

describe('the Nile, 1871 to 1970 (Durbin & Koopman, chapter 2)', () => {
  it('has its greatest likelihood at the published variances (1e-3)', () => {
    // Coordinate ascent on the logarithms by halving steps.
    let [observation, level] = [Math.log(10_000), Math.log(1_000)]
    for (let step = 0.5; step > 1e-5; ) {
      const here = logLikelihood(Math.exp(observation), Math.exp(level))
      const next = [
        [observation + step, level],
        [observation - step, level],
        [observation, level + step],
        [observation, level - step],
      ].find(([o, l]) => logLikelihood(Math.exp(o as number), Math.exp(l as number)) > here)
      if (next === undefined) step /= 2
      else [observation, level] = next as [number, number]
    }
    expect(relativeError(Math.exp(observation), published.variance_observation)).toBeLessThan(1e-3)
    expect(relativeError(Math.exp(level), published.variance_level)).toBeLessThan(1e-3)
  })

  it('has the smoothed level of R tsSmooth (1e-3)', () => {
    const { columns, pass } = follow(computed.variance_observation, computed.variance_level)
    const smoothed = smoothPass(columns, plainCourse, pass, new Float64Array(stride * columns.size))
    computed.smoothed_level.year.forEach((year, i) => {
      const level = smoothed[stride * (year - firstYear)] as number
      expect(relativeError(level, computed.smoothed_level.level[i] as number), String(year)).toBeLessThan(1e-3)
    })
  })

  it('changed after 1898, where one step in a level that does not wander is placed, and means before and after it', () => {
    const state = lineState(river(), noiseOf(15_099, 1e-6), noTrouble)
    const best = state.stories[0]
    expect(best?.changes.map(({ kind, gap }) => [kind, firstYear + gap - 1])).toEqual([
      ['offset', published.last_year_before_the_change],
    ])
    const smoothed = best?.smoothed as Float64Array
    // The prior of the jump draws them together by about two.
    expect(Math.abs((smoothed[0] as number) - computed.change.mean_to_1898)).toBeLessThan(2)
    expect(Math.abs((smoothed[stride * 99] as number) - computed.change.mean_from_1899)).toBeLessThan(2)
  })
})

/** ln of the density of a normal vector, by Cholesky's factor. */
function logNormalVector(miss: readonly number[], covariance: readonly (readonly number[])[]): number {
  const n = miss.length
  const factor: number[][] = []
  let log = 0
  const solved: number[] = []
  for (let i = 0; i < n; i += 1) {
    const row: number[] = []
    for (let j = 0; j <= i; j += 1) {
      let sum = covariance[i]?.[j] as number
      for (let k = 0; k < j; k += 1) sum -= (row[k] as number) * ((factor[j] ?? row)[k] as number)
      row.push(j === i ? Math.sqrt(sum) : sum / (factor[j]?.[j] as number))
    }
    factor.push(row)
    let rest = miss[i] as number
    for (let k = 0; k < i; k += 1) rest -= (row[k] as number) * (solved[k] as number)
    solved.push(rest / (row[i] as number))
    log -= 0.5 * (Math.log(2 * Math.PI) + (solved[i] as number) ** 2) + Math.log(row[i] as number)
  }
  return log
}

describe('a life small enough to sum over everything', () => {
  const psi = [12, 45, 76, 70, 15, 74, 60, 73]
  const missPsi = [0.1, -0.3, 0.2, 0.4, -0.2, 2.4, 1.9, 2.6]
  const series: LifeSeries = {
    points: psi.map((at, i) => ({
      at: i * 0.55 * monthMs,
      psi: at,
      weightLb: 4_500 + 400 * (at + (missPsi[i] as number)),
      varOtherLb2: 1_700,
      scaleId: 1,
      scaleGain: 0,
      uScaleGain: 0,
    })),
    emptyPsi: 12,
    limitPsi: 75,
    slopeLbPerPsi: 400,
    prior: { atEmpty: 9_300, atLimit: 34_500, varEmpty: 2.5e6, varLimit: 2.5e7, cov: 6e6 },
  }
  const priors: ChangePriors = { ...noTrouble, offsetPsi: 2.5, slopeShare: 0.08, driftPsiPerMonth: 0.5, wildPsi: 10 }
  const noise: LineNoise = { levelingPsi: 0.35, tailShare: 0, tailScale: 3.5, wanderPsi: 0.05, endsCorrelation: 0.8 }

  /** ln of the joint density of all weighings under some changes and variances, from the whole covariance matrix. */
  function joint(
    given: ReturnType<typeof columnsOf>,
    changes: Parameters<typeof courseOf>[2],
    variances: Float64Array,
  ) {
    const { jumps, effect } = courseOf(given, jumpSizes(given), changes)
    const { prior, months, share, weight, size } = given
    const covariance = Array.from({ length: size }, (_, i) =>
      Array.from({ length: size }, (_, j) => {
        const first = Math.min(i, j)
        let p00 = prior.varEmpty + given.wanderVar * (months[first] as number)
        let p01 = prior.cov + given.wanderCov * (months[first] as number)
        let p11 = prior.varLimit + given.wanderVar * (months[first] as number)
        for (let gap = 1; jumps !== null && gap <= first; gap += 1) {
          p00 += jumps[3 * gap] as number
          p01 += jumps[3 * gap + 1] as number
          p11 += jumps[3 * gap + 2] as number
        }
        const [s, r] = [share[i] as number, share[j] as number]
        return (
          (1 - s) * (1 - r) * p00 +
          ((1 - s) * r + s * (1 - r)) * p01 +
          s * r * p11 +
          (effect === null ? 0 : (effect[i] as number) * (effect[j] as number)) +
          (i === j ? (variances[i] as number) : 0)
        )
      }),
    )
    const miss = Array.from(weight, (value, i) => {
      const s = share[i] as number
      return value - (1 - s) * prior.atEmpty - s * prior.atLimit
    })
    return logNormalVector(miss, covariance)
  }

  it('places every kind of change in every gap as the joint density of all weighings does (0.02)', () => {
    const columns = columnsOf(series, noise, { ...priors, wildShare: 0 })
    const sizes = jumpSizes(columns)
    const { size } = columns
    const plain = filterPass(columns, plainCourse, columns.prior, false, sitesFor(size), false, passFor(size))
    const { logOdds } = placeChanges(columns, sizes, plainCourse, plain)
    const none = joint(columns, [], columns.varOrdinary)
    for (let gap = 1; gap < size; gap += 1) {
      changeKinds.forEach((kind, k) => {
        const exact = joint(columns, [{ kind, gap }], columns.varOrdinary) - none + logPriorOf(columns, { kind, gap })
        expect(Math.abs((logOdds[3 * gap + k] as number) - exact), `${kind} in gap ${gap}`).toBeLessThan(0.02)
      })
    }
  })

  it('gives its stories the probabilities of exhaustive sums, every weighing ordinary or of the tail (0.02)', () => {
    const tailed = { ...noise, tailShare: 0.03 }
    const columns = columnsOf(series, tailed, { ...priors, wildShare: 0 })
    const state = lineState(series, tailed, { ...priors, wildShare: 0 })
    const { size } = columns
    const density = (changes: Parameters<typeof courseOf>[2]) => {
      let sum = 0
      for (let pattern = 0; pattern < 1 << size; pattern += 1) {
        const variances = new Float64Array(size)
        let log = 0
        for (let i = 0; i < size; i += 1) {
          const tail = (pattern >> i) & 1
          variances[i] = (tail ? columns.varTail[i] : columns.varOrdinary[i]) as number
          log += Math.log(tail ? columns.shareTail : columns.shareOrdinary)
        }
        sum += Math.exp(log + joint(columns, changes, variances) + 60)
      }
      return Math.log(sum)
    }
    const all = [
      { changes: [], log: density([]) },
      ...Array.from({ length: 3 * (size - 1) }, (_, k) => {
        const change = { kind: changeKinds[k % 3] as (typeof changeKinds)[number], gap: 1 + Math.floor(k / 3) }
        return { changes: [change], log: density([change]) + logPriorOf(columns, change) }
      }),
    ]
    const top = Math.max(...all.map(({ log }) => log))
    const total = all.reduce((sum, { log }) => sum + Math.exp(log - top), 0)
    const single = state.stories.filter(({ changes }) => changes.length < 2)
    const kept = single.reduce((sum, { probability }) => sum + probability, 0)
    for (const { changes, probability } of some(single)) {
      const [change] = changes
      const exact = all.find((one) => one.changes[0]?.gap === change?.gap && one.changes[0]?.kind === change?.kind)
        ?.log as number
      expect(Math.abs(probability / kept - Math.exp(exact - top) / total), JSON.stringify(changes)).toBeLessThan(0.02)
    }
  })
})
