import { safe } from '@orpc/client'
import { resolve } from 'node:path'
import { beforeAll, describe, expect, it, vi } from 'vitest'
import type { SaveRecordInput } from '#core/contracts/fleet.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { houseRuleDefinitions, houseRuleNames, measuredRule } from '#core/words/house-rules.ts'
import { type MeasureSystem, measureSystems } from '#core/words/measures.ts'
import { fieldsOf, typedSubjects } from '#core/words/record-fields.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'
import { some } from '#tests/some.ts'

// A printed page is text that fonts have turned into shapes: what stands on it is read before that.
vi.mock('#core/exchange/documents/make-pdf.ts', () => ({
  makePdf: async ({ content }: { content: unknown }) => Buffer.from(JSON.stringify(content)),
}))

/** Every text of an answer, at whatever depth. */
function textsOf(answer: unknown): string[] {
  if (typeof answer === 'string') return [answer]
  return typeof answer === 'object' && answer !== null ? Object.values(answer).flatMap(textsOf) : []
}

const foreign: Readonly<Record<MeasureSystem, RegExp>> = {
  'lb, psi, ft': /\d\s(kg|kPa|bar|m)\b/,
  'kg, kPa, m': /\b(lbs?|psi|ft|bar)\b/,
  'kg, bar, m': /\b(lbs?|psi|ft)\b/,
}

let app: RunningApp
let client: Client
const by = 'M. Adair'

beforeAll(async () => {
  const window = await openWindow(await runApp())
  ;({ app, client } = window)
  await app.context.fleet.use(async (store) => {
    const { outcome } = await importFolder(store, resolve(import.meta.dirname, '../../demo-data/fleet'))
    expect(outcome).toBe('stored')
    await catchUp(store, timeNow())
  })
  return window.end
})

describe.each(measureSystems)('a window in %s', (system) => {
  beforeAll(async () => {
    const was = (await client.houseRules.list()).find(({ name }) => name === 'measures')?.value as number
    await client.houseRules.change({ name: 'measures', was, value: measureSystems.indexOf(system), by })
  })

  /** Which of the texts tell a measure that is not in use. */
  const strangers = (texts: readonly string[]) =>
    some(texts).filter((text) => foreign[system].test(text.replaceAll(/like kPa typed|it showed kPa/g, '')))
  const weights = system.startsWith('kg') ? /\d\s?kg\b/ : /\d\s?lb\b/

  it('is told the findings of units and scales in them', async () => {
    const { rows } = await client.roster.list()
    const seen = new Set<string>()
    // One unit for each code of a finding.
    const troubled = rows.filter(({ findingCodes }) => {
      const isNew = findingCodes.some((code) => !seen.has(code))
      for (const code of findingCodes) seen.add(code)
      return isNew
    })
    const sheets = await Promise.all(some(troubled).map(({ unit }) => client.unit.sheet({ unit })))
    const findings = sheets.flatMap((sheet) => sheet.findings)
    expect(new Set(findings.map(({ code }) => code)).size).toBeGreaterThan(8)
    expect(strangers(textsOf(sheets))).toEqual([])
    expect(findings.some(({ message }) => weights.test(message))).toBe(true)
    expect(strangers(textsOf(await client.scales.list()))).toEqual([])
  })

  it('is told the work of the Shop Bench and why a cell or a line is due in them', async () => {
    const { visits } = await client.bench.plan({ days: 60 })
    const [worst] = some(visits)
    expect(strangers(textsOf(visits))).toEqual([])
    expect(strangers(textsOf(await client.bench.unitWork({ unit: worst?.unit as string })))).toEqual([])
    const pages = await client.bench.workListPdf({ when: 'all' })
    expect(strangers([await pages.text()])).toEqual([])
  })

  it('prints cab cards and bay sheets in them', async () => {
    const { rows } = await client.roster.list()
    const [first] = some(rows)
    const bay = await client.fleet.baySheet({ unit: first?.unit as string })
    expect(strangers([await bay.text()])).toEqual([])
    const pages = await (await client.cabCard.make({ units: rows.slice(0, 20).map(({ unit }) => unit) })).text()
    expect(strangers([pages])).toEqual([])
    expect(pages).toMatch(weights)
  })

  it('is told in them what is heavy, and what a correction finds', async () => {
    expect(strangers(textsOf(await client.heavy.list({})))).toEqual([])
    const tickets = some((await client.evidence.tickets({ limit: 200 })).rows)
    const messages: string[] = []
    for (const { id } of tickets) {
      if (messages.length > 2) break
      const { findings } = await client.evidence.sheet({ kind: 'ticket', id })
      messages.push(...findings.map(({ message }) => message))
    }
    expect(strangers(messages)).toEqual([])
  })

  it('reads of every House Rule in them, and why a value is refused', async () => {
    const rules = await client.houseRules.list()
    expect(strangers(rules.flatMap(({ label, source }) => [label, source]))).toEqual([])
    expect(rules.some(({ source }) => weights.test(source))).toBe(true)
    const measured = houseRuleNames.filter((name) => measuredRule(houseRuleDefinitions[name].unit) !== undefined)
    expect(measured.length).toBeGreaterThan(8)
    for (const name of measured) {
      const { default: was, max } = houseRuleDefinitions[name]
      const { error } = await safe(client.houseRules.change({ name, was, value: 2 * max, by }))
      expect(error?.message).toMatch(/ is not accepted; .* is\.$/)
      expect(strangers([String(error?.message)])).toEqual([])
    }
  })

  it('is told at each field of a record what it accepts in them', async () => {
    const fields = typedSubjects.flatMap((subject) =>
      Object.entries(fieldsOf(subject)).flatMap(([column, field]) =>
        field.type === 'number' && field.measure ? [{ subject, column, beyond: 2 * field.range.max }] : [],
      ),
    )
    expect(fields.length).toBeGreaterThan(15)
    const blank: Omit<SaveRecordInput, 'subject' | 'values'> = {
      id: 1,
      was: {},
      reason: null,
      localZone: null,
      workedAt: null,
      by,
    }
    for (const { subject, column, beyond } of fields) {
      const needed = Object.entries(fieldsOf(subject)).flatMap(([name, field]): [string, string | number][] => {
        if (!field.needed) return []
        if (field.type === 'word') return [[name, field.words[0] as string]]
        if (field.type === 'moment') return [[name, '2026-01-05T15:00:00.000Z']]
        return [[name, field.type === 'whole' ? field.range.min : 'x']]
      })
      const values = { ...Object.fromEntries(needed), [column]: beyond }
      const { error } = await safe(client.fleet.save({ ...blank, subject, values }))
      expect({ subject, column, message: error?.message }).toEqual({
        subject,
        column,
        message: expect.stringMatching(/: “[\d.,]+\s[^“”]+” is not accepted; .* is\./),
      })
      expect(strangers([String(error?.message)])).toEqual([])
    }
  })

  it('is told at the fields of a ticket and a reading what they accept in them', async () => {
    const [ticket] = some((await client.evidence.tickets({ limit: 1 })).rows)
    const [reading] = some((await client.evidence.readings({ limit: 1 })).rows)
    for (const [kind, id, column, beyond] of [
      ['ticket', ticket?.id, 'gross_lb', 2_000_000],
      ['reading', reading?.id, 'elevation_ft', 90_000],
      ['reading', reading?.id, `${reading?.pressures[0]?.place}_psi`, 9000],
    ] as const) {
      const was = (await client.evidence.sheet({ kind, id: id as number })).values
      const { error } = await safe(
        client.evidence.correct({
          kind,
          id: id as number,
          was: { [column]: was[column] ?? null },
          now: { [column]: beyond },
          reason: 'typed wrongly',
          by,
          tryOut: false,
        }),
      )
      expect(error?.message).toMatch(/ is not accepted; .* is\./)
      expect(strangers([String(error?.message)])).toEqual([])
    }
  })
})
