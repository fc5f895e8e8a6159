import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { expanded } from '#core/words/coverage.ts'
import { demoScales } from '#demo/make-demo.ts'
import { type ScaleRow, scaleRows } from '#tests/bed/reports.ts'
import { runHere as tareline } from '#tests/command/run-here.ts'
import { smallFleet, writeFiles } from '#tests/exchange/small-fleet.ts'

const folder = mkdtempSync(join(tmpdir(), 'tareline-scales-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const rowsOn = async (db: string, day: string): Promise<ScaleRow[]> =>
  scaleRows.parse(JSON.parse((await tareline('scales', '--db', db, '--as-of', day, '--json')).out))

describe('the scales of the demo', () => {
  const db = join(folder, 'demo.tareline')
  const truth = new Map(demoScales().map((scale) => [scale.name, scale]))
  const heavy = 'Mile 88 Fuel Stop'
  const grossOnly = 'Dry Fork Grain'
  let rows: ScaleRow[] = []
  beforeAll(async () => {
    const fleet = resolve(import.meta.dirname, '../../demo-data/fleet')
    expect((await tareline('import', fleet, '--db', db)).exit).toBe(0)
    rows = await rowsOn(db, '2026-11-24')
  })

  it('are told as the story has it: one biased, the others not condemned, the gross-only one not known', () => {
    expect(rows.map(({ scale }) => scale)).toEqual([...truth.keys()].sort())
    expect(rows.find(({ scale }) => scale === heavy)?.verdict).toBe('biased')
    expect(rows.find(({ scale }) => scale === grossOnly)).toMatchObject({
      verdict: 'not known',
      weighings: 0,
      since: null,
    })
    const others = rows.filter(({ scale }) => scale !== heavy && scale !== grossOnly)
    expect(others.length).toBe(4)
    for (const { verdict, weighings, groups } of others) {
      expect(['within tolerance', 'too close to call']).toContain(verdict)
      expect(weighings).toBeGreaterThan(300)
      expect(groups).toBeGreaterThan(50)
    }
  })

  it('have their true biases within the 95 % intervals', () => {
    for (const { scale, bias_percent, u_percent } of rows) {
      const gain = truth.get(scale)?.gain ?? Number.NaN
      expect(Math.abs(gain) <= 0.002).toBe(scale !== heavy)
      expect(Math.abs(bias_percent - 100 * gain)).toBeLessThanOrEqual(expanded(u_percent))
    }
  })

  it('are known only by what came in until the day asked about', async () => {
    for (const row of await rowsOn(db, '2024-11-01'))
      expect(row).toMatchObject({ bias_percent: 0, verdict: 'not known', weighings: 0, groups: 0, since: null })
    const early = await rowsOn(db, '2025-03-01')
    const used = early.filter(({ weighings }) => weighings > 0)
    expect(used.length).toBe(5)
    for (const { scale, weighings, u_percent, since } of used) {
      const later = rows.find((row) => row.scale === scale)
      expect(weighings).toBeLessThan((later?.weighings ?? 0) / 2)
      expect(u_percent).toBeGreaterThan(later?.u_percent ?? 1)
      expect(since).toBe(later?.since)
    }
  })

  it('are readable as text, with ± at 95 %', async () => {
    const { exit, out } = await tareline('scales', '--db', db, '--as-of', '2026-11-24')
    expect(exit).toBe(0)
    expect(out).toMatch(
      /^Mile 88 Fuel Stop {2}\+0\.\d\d ± 0\.1\d % +biased +\d+ weighings of \d+ groups since 2024-12-\d\d$/m,
    )
    expect(out).toMatch(/^Dry Fork Grain +not known +never weighed on with a reading$/m)
  })
})

describe('the scales of a small fleet', () => {
  const db = join(folder, 'small.tareline')
  beforeAll(async () => {
    const files = smallFleet()
    writeFiles(join(folder, 'small'), {
      ...files,
      'scales.csv': `${files['scales.csv']}Millrace,20,,0.1\n`,
    })
    expect((await tareline('import', join(folder, 'small'), '--db', db)).exit).toBe(0)
  })

  it('are not known: the only one that is used, and one that is not, go by their certification', async () => {
    const [millrace, saltBend] = await rowsOn(db, '2025-08-01')
    expect(millrace).toMatchObject({ scale: 'Millrace', bias_percent: 0, verdict: 'not known', weighings: 0 })
    expect(millrace?.u_percent).toBeCloseTo(0.1 / Math.sqrt(3), 9)
    expect(saltBend).toMatchObject({ scale: 'Salt Bend Yard', bias_percent: 0, verdict: 'not known', groups: 2 })
    expect(saltBend?.weighings).toBeGreaterThan(5)
    expect(saltBend?.u_percent).toBeCloseTo(0.2 / Math.sqrt(3), 9)
  })

  it.each([
    [['scales', '--db', 'nowhere.tareline'], 'does not exist'],
    [['scales'], '--db is missing'],
    [['scales', '--db', '$db', '--as-of', 'last week'], '--as-of is "last week"'],
  ])('bad input %j exits with 2 and a sentence', async (args, sentence) => {
    const { exit, out, error } = await tareline(...args.map((arg) => (arg === '$db' ? db : arg)))
    expect({ exit, out }).toEqual({ exit: 2, out: '' })
    expect(error).toContain(sentence)
  })
})
