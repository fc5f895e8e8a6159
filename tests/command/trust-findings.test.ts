import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { findingCodes } from '#core/findings/finding.ts'
import { some } from '#tests/some.ts'
import { runHere as tareline } from '#tests/command/run-here.ts'
import { smallFleet, writeFiles } from '#tests/exchange/small-fleet.ts'

describe('trust and findings', () => {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-trust-'))
  const db = join(folder, 'fleet.tareline')

  beforeAll(async () => {
    const files = smallFleet()
    writeFiles(join(folder, 'fleet'), {
      ...files,
      'events.csv':
        'unit,group,circuit,happened_at,event,note\nT-101,drive,,2025-08-01T09:00:00-06:00,valve replaced,\n',
    })
    expect((await tareline('import', join(folder, 'fleet'), '--db', db)).exit).toBe(0)
  })
  afterAll(() => rmSync(folder, { recursive: true, force: true }))

  it('trust lists every sensed group with the fields of the format', async () => {
    const { exit, out } = await tareline('trust', '--db', db, '--as-of', '2025-07-01', '--json')
    expect(exit).toBe(0)
    const rows = JSON.parse(out)
    expect(rows.map(({ unit, group }: { unit: string; group: string }) => `${unit} ${group}`)).toEqual([
      'T-101 drive',
      'V-201 tandem',
    ])
    for (const row of rows) {
      expect(Object.keys(row).sort()).toEqual([
        'a',
        'age_days',
        'b',
        'calibrated_at',
        'due_on',
        'group',
        'trust',
        'u_limit_lb',
        'unit',
      ])
    }
    // The drive's points lie near 3,950 lb + 448 lb/psi, as the folder was written.
    expect(rows[0]).toMatchObject({ due_on: '2026-03-04', trust: 'sound' })
    expect(rows[0].b).toBeGreaterThan(430)
    expect(rows[0].b).toBeLessThan(465)
    expect(rows[0].u_limit_lb).toBeGreaterThan(50)
  })

  it('trust knows nothing later than the day asked about', async () => {
    const before = JSON.parse((await tareline('trust', '--db', db, '--as-of', '2025-01-31', '--json')).out)
    expect(before).toMatchObject([
      { trust: 'uncalibrated', a: null, calibrated_at: null, due_on: null },
      { trust: 'uncalibrated' },
    ])
    const after = JSON.parse((await tareline('trust', '--db', db, '--as-of', '2025-08-02', '--json')).out)
    expect(after[0]).toMatchObject({ unit: 'T-101', trust: 'upset', due_on: '2025-08-01' })
  })

  it('findings are an array with the fields of the format, readable as text too', async () => {
    const { out } = await tareline('findings', '--db', db, '--as-of', '2025-08-02', '--json')
    const found = JSON.parse(out)
    for (const row of some<(typeof found)[number]>(found)) {
      expect(Object.keys(row)).toEqual(
        expect.arrayContaining([
          'unit',
          'group',
          'circuit',
          'scale',
          'ticket',
          'code',
          'severity',
          'since',
          'numbers',
          'message',
        ]),
      )
      expect(findingCodes).toContain(row.code)
    }
    expect(found).toContainEqual(
      expect.objectContaining({
        unit: 'T-101',
        group: 'drive',
        code: 'event-since-calibration',
        severity: 'stop',
        since: '2025-08-01T15:00:00.000Z',
      }),
    )
    const text = (await tareline('findings', '--db', db, '--as-of', '2025-08-02')).out
    expect(text).toContain('STOP  T-101 drive')
    expect(text).toContain('a leveling valve was replaced')
  })

  it('--fail-on exits with 1 only where something is that bad; --unit asks about one unit', async () => {
    expect((await tareline('findings', '--db', db, '--as-of', '2025-08-02', '--fail-on', 'stop')).exit).toBe(1)
    expect((await tareline('findings', '--db', db, '--as-of', '2025-07-01', '--fail-on', 'stop')).exit).toBe(0)
    const { exit, out } = await tareline(
      'findings',
      '--db',
      db,
      '--as-of',
      '2025-08-02',
      '--unit',
      'V-201',
      '--fail-on',
      'stop',
      '--json',
    )
    expect(exit).toBe(0)
    expect(JSON.parse(out).every(({ unit }: { unit: string }) => unit === 'V-201')).toBe(true)
  })

  it.each([
    [['trust', '--db', 'nowhere.tareline'], 'does not exist'],
    [['trust'], '--db is missing'],
    [['findings', '--db', '$db', '--as-of', 'last week'], '--as-of is "last week"'],
    [['findings', '--db', '$db', '--fail-on', 'trouble'], 'stop, warn, note are accepted'],
    [['findings', '--db', '$db', '--unit', 'T-999'], 'There is no unit T-999'],
  ])('bad input %j exits with 2 and a sentence', async (args, sentence) => {
    const { exit, out, error } = await tareline(...args.map((arg) => (arg === '$db' ? db : arg)))
    expect({ exit, out }).toEqual({ exit: 2, out: '' })
    expect(error).toContain(sentence)
  })
})
