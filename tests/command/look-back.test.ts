import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { z } from 'zod'
import { runHere as tareline } from '#tests/command/run-here.ts'
import { some } from '#tests/some.ts'

const folder = mkdtempSync(join(tmpdir(), 'tareline-look-back-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const verdict = z.enum(['under', 'too close to call', 'over'])
const rowsOf = z.array(
  z.strictObject({
    reading: z.string(),
    taken_at: z.string(),
    unit: z.string(),
    units: z.array(z.string()),
    limit: z.enum(['group', 'gross']),
    group: z.string(),
    limit_lb: z.number(),
    line_weight_lb: z.number().nullable(),
    u_line_lb: z.number().nullable(),
    said_weight_lb: z.number().nullable(),
    weight_lb: z.number(),
    u_lb: z.number(),
    verdict_then: verdict,
    verdict_now: verdict,
    because: z.string(),
    note: z.string().nullable(),
  }),
)

describe('the look-back over the demo', () => {
  const db = join(folder, 'demo.tareline')
  const read = async (...more: string[]) =>
    rowsOf.parse(JSON.parse((await tareline('look-back', '--db', db, ...more, '--json')).out))
  let rows: z.infer<typeof rowsOf> = []
  beforeAll(async () => {
    expect((await tareline('import', resolve(import.meta.dirname, '../../demo-data/fleet'), '--db', db)).exit).toBe(0)
    rows = await read()
  })

  it('lists loads of which the line in use said something else, each with what is held now and why', () => {
    for (const row of some(rows)) {
      expect(row.verdict_then).not.toBe(row.verdict_now)
      expect(row.because).not.toBe('')
      expect(row.said_weight_lb).toBe(row.line_weight_lb)
    }
  })

  it('tells the owner that T-111 was called over by a line that had moved', () => {
    const drive = some(rows.filter(({ unit, group }) => unit === 'T-111' && group === 'drive'))
    const called = drive.filter(({ verdict_then }) => verdict_then === 'over')
    expect(called.length).toBeGreaterThan(0)
    expect(
      called.some(({ because }) => /The line of T-111 drive has been off since about \d{4}-\d\d-\d\d/.test(because)),
    ).toBe(true)
    for (const row of called) expect(row.weight_lb).toBeLessThan(row.line_weight_lb ?? 0)
  })

  it('begins on the day that is asked for', async () => {
    const since = await read('--since', '2026-07-01')
    expect(since.length).toBeGreaterThan(0)
    expect(since.length).toBeLessThan(rows.length)
    expect(since.every(({ taken_at }) => taken_at >= '2026-07-01')).toBe(true)
  })

  it('says the same in lines for a person', async () => {
    const { out } = await tareline('look-back', '--db', db, '--since', '2026-07-01')
    expect(out).toMatch(/called (over|under|too close to call), now (over|under|too close to call)/)
  })
})
