import { weightAt, sinceWhen } from '#core/evidence/state/best-weight.ts'
import { lineState } from '#core/evidence/state/line-state.ts'
import { defaultChangePriors, defaultTail } from '#core/evidence/state/prior-rules.ts'
import { Random } from '#demo/simulation/random.ts'
import { drawScales, ordinaryWorld, seriesOf, simulateLine } from '#tests/bed/simulate-lines.ts'
for (const months of [7, 13, 24]) {
const random = new Random('cost')
const lines = Array.from({length: 500}, (_, i) => seriesOf(simulateLine({...ordinaryWorld, months}, i % 25 === 0 ? 'offset' : null, drawScales(random), random)))
const noise = { ...defaultTail, levelingPsi: 0.35, wanderPsi: 0.05 }
const n = lines.reduce((s, l) => s + l.points.length, 0) / lines.length
for (let round = 0; round < 4; round++) {
  const t = process.cpuUsage().user/1000
  let s = 0
  for (const l of lines) { const st = lineState(l, noise, defaultChangePriors); s += st.stories.length }
  const t2 = process.cpuUsage().user/1000
  console.log(months, n.toFixed(0), 'weighings', ((t2 - t) / 500 * 25000).toFixed(0), 'ms per 25000', (s/500).toFixed(2))
}
}
