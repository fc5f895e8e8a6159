import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { some } from '#tests/some.ts'
import { runHere as tareline } from '#tests/command/run-here.ts'
import { smallFleet, writeFiles } from '#tests/exchange/small-fleet.ts'

describe('batteries and bench-plan', () => {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-bench-'))
  const db = join(folder, 'fleet.tareline')
  const visits = join(folder, 'visits.csv')

  beforeAll(async () => {
    const files = smallFleet()
    writeFiles(join(folder, 'fleet'), {
      ...files,
      'battery_changes.csv': `${files['battery_changes.csv']}PA-01044,2025-09-01T12:00:00Z,new,\n`,
    })
    expect((await tareline('import', join(folder, 'fleet'), '--db', db)).exit).toBe(0)
  })
  afterAll(() => rmSync(folder, { recursive: true, force: true }))

  it('batteries lists every mounted sensor with the fields of the format; one without a recorded change is said', async () => {
    const { exit, out, error } = await tareline('batteries', '--db', db, '--as-of', '2025-10-01', '--json')
    expect(exit).toBe(0)
    const rows = JSON.parse(out) as Record<string, unknown>[]
    for (const row of rows)
      expect(Object.keys(row).slice(0, 7)).toEqual([
        'serial',
        'unit',
        'group',
        'circuit',
        'installed_on',
        'swap_by',
        'risk',
      ])
    // PA-01045 was taken off its circuit in September.
    expect(rows.map(({ serial }) => serial).sort()).toEqual(['PA-01044', 'PB-01053'])
    expect(rows).toContainEqual(
      expect.objectContaining({
        serial: 'PA-01044',
        unit: 'T-101',
        group: 'drive',
        circuit: 'main',
        installed_on: '2025-09-01',
        installed_assumed: false,
        cell: 'CR2477',
      }),
    )
    expect(rows).toContainEqual(
      expect.objectContaining({
        serial: 'PB-01053',
        unit: 'V-201',
        circuit: 'right',
        installed_on: '2025-01-08',
        installed_assumed: true,
        contradictions: [],
      }),
    )
    for (const { risk, swap_by } of rows) {
      expect(risk).toBeGreaterThan(0)
      expect(risk).toBeLessThan(1)
      expect(swap_by).toMatch(/^20\d\d-\d\d-\d\d$/)
    }
    // The second `new` came while a cell was in.
    expect(error).toContain('Sensor PA-01044: a first cell is recorded on 2025-09-01 although another was already in')
    const text = (await tareline('batteries', '--db', db, '--as-of', '2025-10-01')).out
    expect(text).toContain('in since 2025-01-08 (no change recorded; counted from the mounting)')
    expect(text).toContain('2 sensors: 0 overdue')
  })

  it('batteries knows nothing later than the day asked about', async () => {
    const rows = JSON.parse((await tareline('batteries', '--db', db, '--as-of', '2025-02-01', '--json')).out)
    expect(rows.map(({ serial, installed_on }: Record<string, string>) => [serial, installed_on]).sort()).toEqual([
      ['PA-01044', '2025-01-08'],
      ['PA-01045', '2025-01-08'],
      ['PB-01053', '2025-01-08'],
    ])
    expect(JSON.parse((await tareline('batteries', '--db', db, '--as-of', '2024-12-31', '--json')).out)).toEqual([])
  })

  it('the risk is that before the planned visit, and bench-plan does the work then', async () => {
    writeFileSync(visits, 'date,yard,unit\n2026-03-02,,V-201\n2026-02-20,Cinder Gap,T-101\n')
    const plain = JSON.parse((await tareline('bench-plan', '--db', db, '--as-of', '2026-02-16', '--json')).out)
    expect(plain).toMatchObject({ as_of: '2026-02-16', first_day: '2026-02-16', last_day: '2026-03-15', days: 28 })
    const { exit, out } = await tareline(
      'bench-plan',
      '--db',
      db,
      '--as-of',
      '2026-02-16',
      '--visits',
      visits,
      '--json',
    )
    expect(exit).toBe(0)
    const plan = JSON.parse(out)
    expect(plan.visits).toContainEqual(
      expect.objectContaining({
        yard: 'Cinder Gap',
        unit: 'T-101',
        day: '2026-02-20',
        until_day: '2026-02-20',
        planned_visit: '2026-02-20',
        late_days: 0,
        problem: null,
        work: expect.arrayContaining([
          expect.objectContaining({ kind: 'recalibration', group: 'drive', due_on: '2026-03-04', minutes: 45 }),
        ]),
      }),
    )
    for (const { work, minutes } of some<(typeof plan.visits)[number]>(plan.visits)) {
      expect(minutes).toBe(work.reduce((sum: number, item: { minutes: number }) => sum + item.minutes, 0))
    }
    expect(plan.cautions.join(' ')).toMatch(/chock.*brake air.*coin cells.*legal-for-trade/)
    const text = (await tareline('bench-plan', '--db', db, '--as-of', '2026-02-16', '--visits', visits)).out
    expect(text).toContain('Cinder Gap  2026-02-20\n  T-101  ')
    expect(text).toContain('Recalibrate drive (2026-03-04)')
  })

  it('bench-plan says what cannot be met', async () => {
    const plan = JSON.parse(
      (await tareline('bench-plan', '--db', db, '--as-of', '2026-06-01', '--days', '1', '--json')).out,
    )
    expect(plan.last_day).toBe('2026-06-01')
    expect(plan.not_met).toContainEqual(
      expect.objectContaining({
        unit: 'T-101',
        due_on: '2026-03-04',
        day: '2026-06-01',
        because: 'date already past',
        message: 'Unit T-101 was due on 2026-03-04; the first room on the bench is 2026-06-01.',
      }),
    )
    expect((await tareline('bench-plan', '--db', db, '--as-of', '2026-06-01')).out).toMatch(
      /Cannot be met:\n(?: {2}Unit .*\n)* {2}Unit T-101 was due on 2026-03-04/,
    )
  })

  it('what is wrong with a file of visits is named with line and column', async () => {
    writeFileSync(visits, 'unit,yard,date\nT-999,,2026-03-02\nT-101,Moon,2026-03-32\n\nT-101\n')
    const { exit, error, out } = await tareline('bench-plan', '--db', db, '--visits', visits, '--json')
    expect(exit).toBe(2)
    expect(error.trim().split('\n')).toEqual([
      'visits.csv line 2, unit: there is no unit "T-999" in this fleet.',
      'visits.csv line 3, yard: there is no yard "Moon" in this fleet.',
      'visits.csv line 3, date: "2026-03-32" is not accepted; a day such as 2026-03-01 is.',
      'visits.csv line 5: the row has 1 cell; 3, as in the header, are needed.',
    ])
    expect(JSON.parse(out).problems).toHaveLength(4)
    expect((await tareline('bench-plan', '--db', db, '--days', '0')).exit).toBe(2)
    expect((await tareline('bench-plan', '--db', db, '--visits', join(folder, 'none.csv'))).error).toContain(
      'none.csv is not a file',
    )
  })

  it('findings say when a cell is due, without a word on trust', async () => {
    const late = JSON.parse((await tareline('findings', '--db', db, '--as-of', '2028-06-01', '--json')).out) as Record<
      string,
      string
    >[]
    const cells = late.filter(({ code }) => code?.startsWith('battery'))
    expect(cells).toContainEqual(
      expect.objectContaining({
        code: 'battery-due',
        severity: 'note',
        unit: 'V-201',
        group: 'tandem',
        circuit: 'right',
      }),
    )
    const early = JSON.parse((await tareline('findings', '--db', db, '--as-of', '2025-02-01', '--json')).out) as Record<
      string,
      string
    >[]
    expect(early.filter(({ code }) => code?.startsWith('battery'))).toEqual([])
  })
})
