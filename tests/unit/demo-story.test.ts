import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { FindingRow, TrustRow } from '#tests/bed/reports.ts'
import { judgeImported } from '#tests/bed/judge.ts'

/** What is said of each group of the demo that its table 'Who shows what' names, beside its cells; of no other. */
const story: Readonly<Record<string, { readonly trust: string; readonly says: readonly string[] }>> = {
  'T-104 drive': { trust: 'upset', says: ['event-since-calibration'] },
  'T-111 drive': { trust: 'doubtful', says: ['checks-drifting', 'uncertainty-over-tolerance'] },
  'T-136 drive': { trust: 'sound', says: ['side-imbalance'] },
  'V-209 tandem': { trust: 'doubtful', says: ['checks-drifting', 'uncertainty-over-tolerance'] },
  'T-126 drive': { trust: 'sound', says: ['line-moved'] },
  'T-123 drive': { trust: 'overdue', says: ['age-over-limit'] },
  'H-405 tridem': { trust: 'overdue', says: ['age-over-limit'] },
  'T-128 drive': { trust: 'due soon', says: ['age-near-limit'] },
  'F-306 spread': { trust: 'due soon', says: ['age-near-limit'] },
  'T-130 drive': { trust: 'sound', says: ['two-point-line'] },
  'F-303 spread': { trust: 'doubtful', says: ['short-span'] },
  'V-228 tandem': { trust: 'uncalibrated', says: ['no-calibration'] },
  'T-117 drive': { trust: 'sound', says: ['digits-transposed'] },
  'T-108 drive': { trust: 'sound', says: ['groups-swapped', 'groups-swapped'] },
  'V-225 tandem': { trust: 'sound', says: ['groups-swapped'] },
  'V-202 tandem': { trust: 'sound', says: ['groups-swapped'] },
  'V-215 tandem': { trust: 'sound', says: ['wrong-pressure-unit'] },
  'K-02 drive': { trust: 'doubtful', says: ['lift-state-mismatch'] },
  'V-218 tandem': { trust: 'doubtful', says: ['altitude-uncorrected'] },
  'T-119 drive': { trust: 'doubtful', says: ['sensor-silent'] },
  'H-402 tridem': { trust: 'doubtful', says: ['sensor-silent'] },
}

describe('the demo, on the day on which its story ends', () => {
  const home = mkdtempSync(join(tmpdir(), 'tareline-story-'))
  let findings: readonly FindingRow[] = []
  let trust: readonly TrustRow[] = []

  beforeAll(async () => {
    const judge = await judgeImported(
      resolve(import.meta.dirname, '../../demo-data/fleet'),
      join(home, 'demo.tareline'),
    )
    ;({ findings, trust } = await judge.on('2026-11-24'))
    await judge.close()
  }, 60_000)
  afterAll(() => rmSync(home, { recursive: true, force: true }))

  const ofGroups = () => findings.filter(({ group, code }) => group !== null && !code.startsWith('battery-'))

  it('says of every group what its table has, and nothing of the others', () => {
    const said = new Map<string, string[]>()
    for (const { unit, group, code } of ofGroups())
      said.set(`${unit} ${group}`, [...(said.get(`${unit} ${group}`) ?? []), code].toSorted())
    expect(Object.fromEntries(said)).toEqual(
      Object.fromEntries(Object.entries(story).map(([group, { says }]) => [group, says.toSorted()])),
    )
  })

  it('trusts every group as far as its story goes, and the others wholly', () => {
    expect(trust.length).toBeGreaterThan(85)
    for (const row of trust)
      expect([row.unit, row.group, row.trust]).toEqual([
        row.unit,
        row.group,
        story[`${row.unit} ${row.group}`]?.trust ?? 'sound',
      ])
  })

  it('dates the drift of T-111 and the ride height of V-209, and has both due since then', () => {
    const of = (unit: string) =>
      ofGroups().find((each) => each.unit === unit && each.code === 'checks-drifting')?.numbers
    const daysBefore = (text: unknown) => (Date.parse('2026-11-24') - Date.parse(String(text))) / 86_400_000
    expect(of('T-111')).toMatchObject({ kind: 'drift' })
    expect(daysBefore(of('T-111')?.['since_from'])).toBeGreaterThan(120)
    expect(daysBefore(of('T-111')?.['since_until'])).toBeLessThan(120)
    expect(of('V-209')).toMatchObject({ kind: 'slope' })
    expect(daysBefore(of('V-209')?.['since_from'])).toBeGreaterThan(86)
    expect(daysBefore(of('V-209')?.['since_until'])).toBeLessThan(86)
    for (const unit of ['T-111', 'V-209']) {
      const due = trust.find((row) => row.unit === unit)?.due_on as string
      expect(daysBefore(due)).toBeGreaterThan(30)
      expect(daysBefore(due)).toBeLessThan(125)
    }
  })

  it('counts the cells of T-119 and H-402 as dead since their sensors fell silent, and no other', () => {
    const dead = findings.filter(({ message }) => message.includes('most likely dead: its sensor'))
    expect(dead.map(({ unit, code, since }) => [unit, code, since?.slice(0, 10)]).toSorted()).toEqual([
      ['H-402', 'battery-overdue', '2026-11-09'],
      ['T-119', 'battery-overdue', '2026-10-16'],
    ])
  })

  it('says of T-133 that its gross is wrong, of Mile 88 Fuel Stop that it weighs heavy, and of no other scale', () => {
    const others = findings.filter(({ group, code }) => group === null && !code.startsWith('battery-'))
    expect(others.map(({ code, unit, scale }) => [code, unit ?? scale]).toSorted()).toEqual([
      ['scale-biased', 'Mile 88 Fuel Stop'],
      ['ticket-sum-mismatch', 'T-117'],
      ['ticket-sum-mismatch', 'T-133'],
    ])
  })
})
