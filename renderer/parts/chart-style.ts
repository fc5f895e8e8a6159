/** What the charts of all screens share. */
export const axisStyle = {
  tick: { fill: 'var(--t-ink-2)', fontSize: 12 },
  stroke: 'var(--t-line-strong)',
  tickLine: false,
} as const
export const labelStyle = { fill: 'var(--t-ink-2)', fontSize: 12 } as const
export const plotMargin = { top: 8, right: 14, left: 10 } as const
export const weightAxisPx = 74
