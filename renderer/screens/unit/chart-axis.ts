import type { Measures } from '#renderer/parts/format.ts'
import { axisStyle } from '#renderer/parts/chart-style.ts'
import type { LineSeries } from './line-series.ts'

/** The charts of a group share it, so that the same pressure stands at the same place. */
export function pressureAxis({ fromPsi, toPsi }: LineSeries, { pressure }: Measures) {
  const tens = Array.from({ length: (toPsi - fromPsi) / 10 + 1 }, (_, i) => pressure.shown(fromPsi + 10 * i))
  return {
    ...axisStyle,
    dataKey: 'psi',
    type: 'number' as const,
    domain: [pressure.shown(fromPsi), pressure.shown(toPsi)],
    ticks: tens,
  }
}
