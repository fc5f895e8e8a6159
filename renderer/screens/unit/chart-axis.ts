import type { Measures } from '#renderer/parts/format.ts'
import type { LineSeries } from './line-series.ts'

/** What both charts of a group share, so that the same pressure stands at the same place. */
export const axisStyle = { tick: { fill: 'var(--t-ink-2)', fontSize: 12 }, stroke: 'var(--t-line-strong)', tickLine: false } as const
export const labelStyle = { fill: 'var(--t-ink-2)', fontSize: 12 } as const
export const plotMargin = { top: 8, right: 14, left: 10 } as const
export const weightAxisPx = 74

export function pressureAxis({ fromPsi, toPsi }: LineSeries, { pressure }: Measures) {
  const tens = Array.from({ length: (toPsi - fromPsi) / 10 + 1 }, (_, i) => pressure.shown(fromPsi + 10 * i))
  return { ...axisStyle, dataKey: 'psi', type: 'number' as const, domain: [pressure.shown(fromPsi), pressure.shown(toPsi)], ticks: tens }
}
