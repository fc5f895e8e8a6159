import type { Measurement } from '#tests/bench/section.ts'

const columns = ['what', 'measured', 'baseline', 'ratio', 'asked'] as const

/** Measurements as a plain text table, columns as wide as their widest cell. */
export function asTable(measurements: readonly Measurement[]): string {
  const rows = [
    Object.fromEntries(columns.map((column) => [column, column])) as Record<(typeof columns)[number], string>,
    ...measurements,
  ]
  const width = columns.map((column) => Math.max(...rows.map((row) => (row[column] ?? '').length)))
  const lines = rows.map((row) =>
    columns
      .map((column, i) => (row[column] ?? '').padEnd(width[i] as number))
      .join('  ')
      .trimEnd(),
  )
  return [lines[0], width.map((size) => '-'.repeat(size)).join('  '), ...lines.slice(1)].join('\n')
}
