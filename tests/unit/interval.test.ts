import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { cabCardDefinition } from '#core/exchange/documents/cab-card.ts'
import { heavySpreadsheet } from '#core/exchange/documents/heavy-export.ts'
import { coverageFactor, expanded } from '#core/words/coverage.ts'
import { storedDay } from '#core/words/day.ts'
import { measureSystems } from '#core/words/measures.ts'
import { sayOfRules } from '#core/words/say.ts'
import { sayFinding, saying } from '#core/words/sentences/findings.ts'
import { measuresFor } from '#renderer/parts/format.ts'

/** Standard uncertainty of a weight at the limit, lb: 1.96 and 2 of it lie in different steps of every system. */
const uLb = 383
const limitLb = 34_000

const digitsOf = (text: string | undefined): string => (text ?? '').replaceAll(/[^\d,]/g, '')

/** The ± of a card that says so at its table's limit. */
function onCard(say: ReturnType<typeof sayOfRules>): string {
  const table = {
    stepPsi: 10,
    steps: [{ psi: 60, weightLb: 30_000, uLb, verdict: 'under' as const }],
    limitLb,
    loadTo: { psi: 62 },
    uLimitLb: uLb,
    lift: null,
    calibratedAt: 0,
    isProvisional: false,
    meanOf: [],
    isAbsolute: false,
    steer: null,
  }
  const card = {
    unit: 'T-1',
    kind: 'tractor',
    about: '',
    yard: null,
    yardFt: null,
    yardAirPsi: null,
    grossLimitLb: null,
    groups: [{ groupId: 1, group: 'drive', axles: 2, limitLb, tables: [table], why: null }],
    standings: new Map(),
  }
  const head = { asOf: storedDay('2026-03-01'), file: 'fleet.tareline', confidencePercent: 95, say }
  return digitsOf(/good to ± ([\d,]+)/.exec(JSON.stringify(cabCardDefinition([card], head)))?.[1])
}

/** The ± of the one row of a spreadsheet. */
async function inSpreadsheet(say: ReturnType<typeof sayOfRules>): Promise<string> {
  const row = {
    weighedAt: '2026-03-01T12:00:00.000Z',
    units: ['T-1'],
    unit: 'T-1',
    yard: null,
    kind: 'group',
    group: 'drive',
    set: null,
    weightLb: 35_000,
    uLb,
    limitLb,
    overLb: 1000,
    pOver: 0.99,
    verdict: 'over',
    byLine: null,
    provisional: false,
    lookBack: null,
    source: 'onboard',
    superseded: false,
    reading: 'R-1',
    ticket: null,
    scale: null,
    note: null,
    driver: null,
    lane: null,
  }
  const folder = mkdtempSync(join(tmpdir(), 'tareline-interval-'))
  try {
    writeFileSync(
      join(folder, 'x.xlsx'),
      await heavySpreadsheet([row], say, { title: 'Heavy Log', asOf: '2026-03-01', file: 'fleet', notes: [] }),
    )
    execFileSync('unzip', ['-q', join(folder, 'x.xlsx'), '-d', folder])
    const sheet = readFileSync(join(folder, 'xl/worksheets/sheet1.xml'), 'utf8')
    return Number(/<c r="I2"[^>]*><v>([\d.]+)<\/v>/.exec(sheet)?.[1]).toLocaleString('en-US')
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

describe('the 95 % interval of one value', () => {
  it('is twice its standard uncertainty', () => {
    expect([coverageFactor, expanded(383)]).toEqual([2, 766])
  })

  it.each(measureSystems.map((system, measures) => ({ system, measures })))(
    'is the same number on the sheet, in a sentence, on the cab card and in the spreadsheet: $system',
    async ({ measures }) => {
      const say = sayOfRules({ measures, zone: 'UTC' })
      const facts = { limitLb, uLb, toleranceLb: 1020, tolerancePercent: 3 }
      const { message } = sayFinding(saying('uncertainty-over-tolerance', 'now', facts), say)
      const sheet = digitsOf(measuresFor(measures, 'UTC').weight.plusMinusFigure(uLb))
      expect(sheet).toBe(measures === 0 ? '770' : '345')
      expect([digitsOf(/± ([\d,]+)/.exec(message)?.[1]), onCard(say), await inSpreadsheet(say)]).toEqual([
        sheet,
        sheet,
        sheet,
      ])
    },
  )
})
