import { linearRegression } from 'simple-statistics'
import { type Point, fitLine } from '#core/line/fit.ts'
import { Random } from '#demo/simulation/random.ts'
import { median, times, whole } from '#tests/bench/figures.ts'
import { type Section, atMost } from '#tests/bench/section.ts'

const problems = 2000
const rounds = 25

/** Five points of a truck's group: 4,000 lb + 500 lb/psi give or take, 0.4 psi and 41 lb of uncertainty. */
function makePoints(random: Random): Point[] {
  const a = random.between(2000, 6000)
  const b = random.between(300, 800)
  return [14, 26, 37, 49, 61].map((psi) => ({
    x: psi + random.normal(0.4),
    y: a + b * psi + random.normal(41),
    ux: random.between(0.3, 0.6),
    uy: random.between(35, 60),
  }))
}

/** Microseconds a fit: the median over rounds, each through all problems. */
function microseconds(work: (i: number) => number): number {
  let sink = 0
  const round = () => {
    const started = performance.now()
    for (let i = 0; i < problems; i += 1) sink += work(i)
    return ((performance.now() - started) * 1000) / problems
  }
  for (let warm = 0; warm < 5; warm += 1) round()
  const result = median(Array.from({ length: rounds }, round))
  if (!Number.isFinite(sink)) throw new Error('a fit gave no number')
  return result
}

export const lines: Section = {
  title: 'Lines fitted: five points, uncertain in both coordinates, with covariance and chi-squared; one thread',
  against:
    'simple-statistics linearRegression: slope and intercept of the same five points by ordinary least squares, no uncertainties',
  measure: async () => {
    const random = new Random('bench lines')
    const points = Array.from({ length: problems }, () => makePoints(random))
    const pairs = points.map((each) => each.map(({ x, y }) => [x, y]))
    const plain = microseconds((i) => linearRegression(pairs[i] as number[][]).m)
    const ours = microseconds((i) => {
      const fitted = fitLine(points[i] as Point[])
      return fitted.ok ? fitted.value.b : Number.NaN
    })
    return [
      {
        what: 'time of a fit',
        measured: `${ours.toFixed(3)} µs`,
        baseline: `${plain.toFixed(3)} µs`,
        ratio: `${times(ours / plain)} as long`,
        goal: atMost(ours, 20, (value) => `${value} µs`),
      },
      { what: 'fits a second', measured: whole(1e6 / ours), baseline: whole(1e6 / plain) },
    ]
  },
}
