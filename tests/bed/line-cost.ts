import { defaultHouseRules } from '#core/words/house-rules.ts'
import { parseArgs } from 'node:util'
import { sinceWhen, weightAt } from '#core/evidence/state/best-weight.ts'
import { lineState } from '#core/evidence/state/line-state.ts'
import { defaultChangePriors, lineNoiseOf } from '#core/evidence/state/prior-rules.ts'
import { Random } from '#demo/simulation/random.ts'
import { drawScales, ordinaryWorld, seriesOf, simulateLine } from '#tests/bed/simulate-lines.ts'

/** Milliseconds of one processor that the states of 25,000 lines take, one in 25 of which has moved. */
function cost(months: number, lines: number): string {
  const random = new Random('cost')
  const series = Array.from({ length: lines }, (_, i) =>
    seriesOf(simulateLine({ ...ordinaryWorld, months }, i % 25 === 0 ? 'offset' : null, drawScales(random), random)),
  )
  const noise = {
    ...lineNoiseOf(defaultHouseRules),
    levelingPsi: ordinaryWorld.levelingPsi,
    wanderPsi: ordinaryWorld.wanderPsi,
  }
  const time = (work: () => void): number => {
    const before = process.cpuUsage().user
    work()
    return ((process.cpuUsage().user - before) / 1000 / lines) * 25_000
  }
  const states = series.map((one) => lineState(one, noise, defaultChangePriors))
  const state = time(() => {
    for (const one of series) lineState(one, noise, defaultChangePriors)
  })
  const questions = time(() => {
    for (const one of states) {
      sinceWhen(one)
      weightAt(one, one.columns.from + 1e9, 70, 0.4)
    }
  })
  const weighings = series.reduce((sum, { points }) => sum + points.length, 0) / lines
  const stories = states.reduce((sum, one) => sum + one.stories.length, 0) / lines
  return `${weighings.toFixed(0)} weighings: ${state.toFixed(0)} ms for 25,000 states of ${stories.toFixed(2)} stories, ${questions.toFixed(0)} ms for a date and a weight of each`
}

if (import.meta.main) {
  const { values } = parseArgs({ options: { lines: { type: 'string', default: '1000' } } })
  for (const months of [6, 9, 24]) console.log(cost(months, Number(values.lines)))
}
