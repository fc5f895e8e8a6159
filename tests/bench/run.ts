import { cpus, totalmem } from 'node:os'
import { parseArgs } from 'node:util'
import { megabytes } from '#tests/bench/figures.ts'
import { desks } from '#tests/bench/desks.ts'
import { firstRow } from '#tests/bench/first-row.ts'
import { folderImport } from '#tests/bench/folder-import.ts'
import { lines } from '#tests/bench/lines.ts'
import { live } from '#tests/bench/live.ts'
import { questions } from '#tests/bench/questions.ts'
import type { Section } from '#tests/bench/section.ts'
import { shopBench } from '#tests/bench/shop-bench.ts'
import { asTable } from '#tests/bench/table.ts'
import { weighing } from '#tests/bench/weighing.ts'

/**
 * `npm run bench` runs all sections; `npm run bench -- lines import` some. Every figure stands beside a baseline of the
 * same run. `npm run bench -- desks --desks 40 --units 10000 --minutes 10` sets how large a house is simulated.
 */
const { values: asked, positionals: wanted } = parseArgs({
  allowPositionals: true,
  options: {
    desks: { type: 'string', default: '8' },
    units: { type: 'string', default: '200' },
    minutes: { type: 'string', default: '1' },
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
  desks: desks({ desks: Number(asked.desks), units: Number(asked.units), minutes: Number(asked.minutes) }),
}

const unknown = wanted.filter((name) => !(name in sections))
if (unknown.length > 0) {
  console.error(`There is no section ${unknown.join(', ')}. Sections: ${Object.keys(sections).join(', ')}.`)
  process.exit(2)
}

console.log(
  `Node ${process.version}, ${cpus().length} x ${cpus()[0]?.model ?? 'unknown processor'}, ${megabytes(totalmem())} of memory\n`,
)
for (const [name, { title, against, measure }] of Object.entries(sections)) {
  if (wanted.length > 0 && !wanted.includes(name)) continue
  try {
    const measurements = await measure()
    console.log(`${name}: ${title}\nagainst: ${against}\n\n${asTable(measurements)}\n`)
  } catch (error) {
    console.error(`${name}: ${title}\nnot measured: ${error instanceof Error ? error.message : String(error)}\n`)
    process.exitCode = 1
  }
}
