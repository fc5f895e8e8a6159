import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { cpus, loadavg, totalmem } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { desks } from '#tests/bench/desks.ts'
import { megabytes } from '#tests/bench/figures.ts'
import { firstRow } from '#tests/bench/first-row.ts'
import { folderImport } from '#tests/bench/folder-import.ts'
import { frames } from '#tests/bench/frames.ts'
import { growth } from '#tests/bench/growth.ts'
import { lines } from '#tests/bench/lines.ts'
import { lists } from '#tests/bench/lists.ts'
import { live } from '#tests/bench/live.ts'
import { questions } from '#tests/bench/questions.ts'
import { type Card, asTable, goalsMet, withCards } from '#tests/bench/scorecard.ts'
import type { Section } from '#tests/bench/section.ts'
import { shopBench } from '#tests/bench/shop-bench.ts'
import { weighing } from '#tests/bench/weighing.ts'

/**
 * `npm run bench` runs all sections and prints one table; `npm run bench -- lines import` some. Every figure stands
 * beside a baseline of the same run, and beside what is asked of it. `--save` keeps the run in tests/bench/last.md.
 * `npm run bench -- growth --largest 10000` leaves the fleet of 100,000 units out, which takes most of an hour;
 * `npm run bench -- desks --desks 40 --windows 8 --units 10000 --minutes 10` sets how large a house is simulated.
 */
const { values: asked, positionals: wanted } = parseArgs({
  allowPositionals: true,
  options: {
    desks: { type: 'string', default: '8' },
    windows: { type: 'string', default: '2' },
    units: { type: 'string', default: '200' },
    minutes: { type: 'string', default: '1' },
    largest: { type: 'string', default: '100000' },
    save: { type: 'boolean', default: false },
  },
})
const sections: Readonly<Record<string, Section>> = {
  lines,
  import: folderImport,
  questions,
  weighing,
  live,
  bench: shopBench,
  start: firstRow,
  lists,
  frames,
  growth: growth({ largest: Number(asked.largest) }),
  desks: desks({
    desks: Number(asked.desks),
    windows: Number(asked.windows),
    units: Number(asked.units),
    minutes: Number(asked.minutes),
  }),
}

const unknown = wanted.filter((name) => !(name in sections))
if (unknown.length > 0) {
  console.error(`There is no section ${unknown.join(', ')}. Sections: ${Object.keys(sections).join(', ')}.`)
  process.exit(2)
}

const load = () => (loadavg()[0] ?? 0).toFixed(1)
const machine = `Node ${process.version}, ${cpus().length} x ${cpus()[0]?.model ?? 'unknown processor'}, ${megabytes(totalmem())} of memory`
const loadBefore = load()
const cards: Card[] = []
for (const [name, { title, against, measure }] of Object.entries(sections)) {
  if (wanted.length > 0 && !wanted.includes(name)) continue
  console.error(`Measuring ${name}…`)
  try {
    cards.push({ name, title, against, rows: await measure() })
  } catch (error) {
    cards.push({ name, title, against, rows: [], trouble: error instanceof Error ? error.message : String(error) })
    process.exitCode = 1
  }
}
const run = `${machine}; load ${loadBefore} before and ${load()} after.`
console.log(`${run}\n\n${asTable(cards)}\n\n${goalsMet(cards)}`)
if (asked.save) {
  const file = join(import.meta.dirname, 'last.md')
  const kept = existsSync(file) ? readFileSync(file, 'utf8') : ''
  const told = `${new Date().toISOString().slice(0, 10)}. ${run}`
  writeFileSync(file, withCards(kept, cards, Object.keys(sections), told))
  console.log(`Kept in ${file}.`)
}
