import { times } from '#tests/bench/figures.ts'
import type { Goal, Measurement, Section } from '#tests/bench/section.ts'

/** A section as it was measured; trouble: why it could not be. */
export interface Card extends Pick<Section, 'title' | 'against'> {
  readonly name: string
  readonly rows: readonly Measurement[]
  readonly trouble?: string
}

const columns = ['what', 'measured', 'baseline', 'ratio', 'asked', 'verdict'] as const

/** A figure that is not a number, such as a ratio to nothing, meets no goal. */
const isMet = ({ share }: Goal): boolean => share <= 1

const verdictOf = (goal: Goal): string => (isMet(goal) ? 'met' : `missed by ${times(goal.share)}`)

const cellsOf = ({ what, measured, baseline = '', ratio = '', goal }: Measurement): readonly string[] => [
  what,
  measured,
  baseline,
  ratio,
  goal?.text ?? '',
  goal ? verdictOf(goal) : '',
]

/** All sections as one plain text table, its columns as wide as their widest cell. */
export function asTable(cards: readonly Card[]): string {
  const width = columns.map((column, i) =>
    Math.max(column.length, ...cards.flatMap(({ rows }) => rows.map((row) => cellsOf(row)[i]?.length ?? 0))),
  )
  const line = (cells: readonly string[]) =>
    cells
      .map((cell, i) => cell.padEnd(width[i] ?? 0))
      .join('  ')
      .trimEnd()
  return [
    line(columns),
    line(width.map((size) => '-'.repeat(size))),
    ...cards.flatMap(({ name, title, against, rows, trouble }) => [
      '',
      `${name}: ${title}`,
      `against: ${against}`,
      ...(trouble === undefined ? rows.map((row) => line(cellsOf(row))) : [`not measured: ${trouble}`]),
    ]),
  ].join('\n')
}

/** How many of the goals are met, in a sentence. */
export function goalsMet(cards: readonly Card[]): string {
  const goals = cards.flatMap(({ rows }) => rows.flatMap(({ goal }) => goal ?? []))
  return `${goals.filter(isMet).length} of ${goals.length} goals are met.`
}

const heading = (name: string) => `## ${name}`

function asMarkdown({ name, title, against, rows, trouble }: Card, run: string): string {
  const row = (cells: readonly string[]) => `| ${cells.map((cell) => cell.trim().replaceAll('|', '\\|')).join(' | ')} |`
  const table = [row(columns), row(columns.map(() => '---')), ...rows.map((each) => row(cellsOf(each)))]
  return [
    heading(name),
    '',
    `${title}; against: ${against}.`,
    '',
    run,
    '',
    ...(trouble === undefined ? table : [`Not measured: ${trouble}`]),
    '',
  ].join('\n')
}

/**
 * The kept text of the last runs with the sections of this one in place of theirs, in the order of all sections; kept:
 * as this function wrote it before, empty at first. run: the machine and the time of this run.
 */
export function withCards(kept: string, cards: readonly Card[], order: readonly string[], run: string): string {
  const before = new Map(
    kept
      .split(/^(?=## )/m)
      .slice(1)
      .map((text) => [text.slice(heading('').length, text.indexOf('\n')), text] as const),
  )
  const now = new Map(cards.map((card) => [card.name, asMarkdown(card, run)]))
  const parts = order.flatMap((name) => now.get(name) ?? before.get(name) ?? [])
  return [
    '# The last run of the bench\n\nWritten by `npm run bench -- --save`; each section as it was measured last.\n',
    ...parts.map((part) => `${part.trimEnd()}\n`),
  ].join('\n')
}
