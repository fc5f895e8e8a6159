import { expect, it } from 'vitest'
import { Random } from '#demo/simulation/random.ts'
import { smallFleet } from '#tests/exchange/small-fleet.ts'
import { bring, wholeRecord } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const longFiles = ['tickets.csv', 'readings.csv', 'calibrations.csv'] as const

type Files = Record<string, string>

const seeds = 12

/** What may stand in a cell in place of what stands there. */
const others = ['', '0', '7.25', '-3', 'T-101', 'drive', 'main', '30417', 'raised', '2025-03-03T12:00:00Z', 'x', ' ']

/** The small fleet with rows of its long files repeated, moved and changed here and there. */
function mutated(random: Random): Files {
  const files: Files = { ...smallFleet() }
  const draw = (below: number) => Math.floor(random.between(0, below))
  for (const file of longFiles) {
    const [header = '', ...rows] = (files[file] ?? '').trimEnd().split('\n')
    for (let change = draw(3); change > 0; change -= 1) {
      const cells = (rows[draw(rows.length)] ?? '').split(',')
      if (random.next() < 0.25) cells[draw(cells.length)] = others[draw(others.length)] ?? ''
      rows.splice(draw(rows.length + 1), random.next() < 0.1 ? 1 : 0, cells.join(','))
    }
    files[file] = `${[header, ...rows].join('\n')}\n`
  }
  return files
}

/** The same rows with a blank beside each unit, which sends them through the reader like those of any other file. */
const byTheReader = (files: Files): Files =>
  Object.fromEntries(
    Object.entries(files).map(([file, text]) => {
      if (!longFiles.some((long) => long === file)) return [file, text]
      const [header = '', ...rows] = text.split('\n')
      const unitAt = header.split(',').indexOf('unit')
      const padded = rows.map((row) =>
        row
          .split(',')
          .map((cell, at) => (at === unitAt && cell !== '' ? ` ${cell}` : cell))
          .join(','),
      )
      return [file, [header, ...padded].join('\n')]
    }),
  )

it('rows come to the same on the short way as through the reader, also when some are wrong or there already', async () => {
  let refused = 0
  for (let seed = 0; seed < seeds; seed += 1) {
    const random = new Random(`short way ${seed}`)
    const first = mutated(random)
    const second = mutated(random)
    const outcomes: unknown[] = []
    for (const way of [(files: Files) => files, byTheReader])
      await withStore(async (store) => {
        const told = [await bring(store, way(first)), await bring(store, way(second))].map((outcome) => {
          if (outcome.outcome === 'refused') refused += 1
          return { ...outcome, seconds: 0 }
        })
        const { change_log: _, ...record } = wholeRecord(store)
        outcomes.push({ told, record })
      })
    expect(outcomes[0], `seed ${seed}`).toEqual(outcomes[1])
  }
  // Of four imports a seed.
  expect(refused).toBeGreaterThan(seeds / 2)
  expect(refused).toBeLessThan(3.5 * seeds)
})
