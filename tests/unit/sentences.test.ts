import { describe, expect, it } from 'vitest'
import { type MeasureSystem, measureSets, measureSystems } from '#core/words/measures.ts'
import { type Say, sayIn } from '#core/words/say.ts'
import { type FindingSentences, findingSentences } from '#core/words/sentences/findings.ts'
import { sayLineProblem } from '#core/words/sentences/line-problems.ts'
import type { FactsOf } from '#core/words/sentences/sentence.ts'
import { type UnweighedSentences, type WhyUnweighed, sayUnweighed } from '#core/words/sentences/unweighed.ts'
import { storedDay } from '#core/words/day.ts'

const at = Date.UTC(2026, 2, 1, 12)
const cell = {
  serial: 'PA-7',
  cell: 'CR2450',
  ageDays: 500,
  countedFrom: 'mounting',
  riskPercent: 19,
  visitAt: at,
  visit: 'planned',
} as const

/** Facts for every entry: the type asks for one that is forgotten. */
const findingFacts: {
  [C in keyof FindingSentences]: { [V in keyof FindingSentences[C]]: FactsOf<FindingSentences[C][V]> }
} = {
  'no-calibration': { never: {}, 'no sensor': {}, 'no line': { code: 'identical-x', value: '30', message: '' } },
  'event-since-calibration': {
    work: { at, kind: 'valve replaced', serial: null, circuit: 'left', more: 2, calibratedAt: at },
    'mounted late': { at, serial: 'S-1', readAt: at, circuit: null, calibratedAt: at },
  },
  'wrong-pressure-unit': {
    one: { at, typedPsi: 400, fitsPsi: 58, unit: 'kPa' },
    all: { at, typedPsi: 400, fitsPsi: 58, unit: 'kPa' },
  },
  'groups-swapped': { ticket: { at, typedLb: 24_000, fitsLb: 33_000 } },
  'digits-transposed': { ticket: { at, typedLb: 30_300, fitsLb: 33_000 } },
  'altitude-uncorrected': {
    'no elevation': { readings: 3, psiPerFt: 0.00052 },
    'yard stands in': { readings: 3, from: at, psiPerFt: 0.00052 },
    'absolute on record as gauge': { missPsi: 2.4 },
    'gauge on record as absolute': { missPsi: 2.4 },
  },
  'checks-drifting': {
    change: { at, from: at, until: at, knownAt: at, kind: 'offset', missLb: -1200, checks: 3, lift: 'raised' },
    together: { at, withGroup: 'tag', missLb: -1200, uMissLb: 310, weighings: 2 },
    shift: { from: at, missLb: -1200, checks: 3, lift: 'raised' },
  },
  'check-missed': {
    open: { at, weightLb: 33_000, missLb: 900, psi: 58, chancePercent: 1 },
    answered: { at, weightLb: 33_000, missLb: -900, psi: 58 },
    together: { at, withGroup: 'tag', sumLb: 48_000, missLb: 1500, chancePercent: 1 },
    'together answered': { at, withGroup: 'tag', sumLb: 48_000, missLb: -1500 },
  },
  'points-disagree': { line: { points: 4, calibratedAt: at, weightLb: 24_500, psi: 38, residualLb: 800 } },
  'line-moved': { unexplained: { laterAt: at, earlierAt: at, shiftLb: 1500, near: 'limit', times: 4.2 } },
  'slope-implausible': {
    falls: { calibratedAt: at, slopeLbPerPsi: -120 },
    springs: { calibratedAt: at, slopeLbPerPsi: 640, ratio: 2.67 },
  },
  'line-unlike-family': {
    slope: { calibratedAt: at, slopeLbPerPsi: 590, usualLbPerPsi: 500, groups: 9 },
    start: { calibratedAt: at, startLb: 4000, usualLb: 2500, groups: 9 },
  },
  'side-imbalance': { circuits: { from: at, high: 'left', low: 'right', differencePsi: 12, allowedPsi: 5 } },
  'scale-biased': {
    scale: { scale: 'Pit scale', biasPercent: 0.9, tandemLb: 306, weighings: 140, groups: 31, from: at },
  },
  'ticket-sum-mismatch': { ticket: { number: '55120', at, sumLb: 79_000, grossLb: 79_900 } },
  'age-over-limit': { line: { calibratedAt: at, limitDays: 365, endedOn: storedDay('2026-03-01'), ageDays: 400 } },
  'uncertainty-over-tolerance': {
    soon: { limitLb: 34_000, uLb: 400, toleranceLb: 1020, tolerancePercent: 3, on: storedDay('2026-03-01') },
    now: { limitLb: 34_000, uLb: 600, toleranceLb: 1020, tolerancePercent: 3 },
  },
  'short-span': {
    span: { spanLb: 3000, askedPercent: 35, limitLb: 34_000 },
    top: { topLb: 22_000, limitLb: 34_000 },
  },
  'battery-overdue': { cell: { ...cell, endedAt: at }, silent: { ...cell, deadSince: at } },
  'battery-due': {
    risk: { ...cell, swapByAt: at, limitPercent: 10 },
    life: { ...cell, swapByAt: null, endsAt: at },
  },
  'age-near-limit': { line: { calibratedAt: at, limitDays: 365, endsOn: storedDay('2026-03-01') } },
  'lift-state-mismatch': {
    points: { points: 1, calibratedAt: at, taken: 'raised', rest: 'lowered' },
    readings: { readings: 2, from: at, taken: 'raised', calibrated: 'lowered' },
  },
  'sensor-silent': { readings: { from: at, silentDays: 39, usualDays: 9, circuit: 'left' } },
  'one-circuit-read': {
    readings: { readings: 3, from: at, missing: 'right' },
    line: { calibratedAt: at, read: 'left', missing: 'right' },
  },
  'follows-weather': { sensor: { psiPerDegree: 0.021 } },
  'two-point-line': { untested: { calibratedAt: at }, line: { calibratedAt: at } },
}

const name = 'T-1 drive'
const unweighedFacts: { [V in keyof UnweighedSentences]: FactsOf<UnweighedSentences[V]> } = {
  'no circuit': { name },
  'not on ticket': { name },
  'together on ticket': { name },
  'line ended': { name, at, kind: 'sensor swapped', serial: 'PA-7', calibratedAt: at },
  'other lift state': { name, calibrated: 'lowered', read: 'raised' },
  'line broken': { name, calibratedAt: at },
  'mixed lift states': { name },
  'before its first line': { name, firstAt: at },
  'no line': { name },
  'circuit not read': { name, circuit: 'left' },
  'no pressure': { name },
  'no elevation': { name, serial: 'PA-7' },
  'below nothing': { name, psi: 4 },
  'no drive group': { name },
  'drive unweighed': { name },
  'no estimate': { name, why: 'Its tickets disagree.' },
  'estimated, no gauge': { name },
  'no gauge': { name },
  'no line holds': {},
  'line falls': {},
}

type AnyEntry = (facts: object, say: Say) => { message: string; nextStep: string }

/** Every sentence of the catalogue in a system, each with the name of its entry. */
function everySentence(system: MeasureSystem): { entry: string; text: string }[] {
  const say = sayIn(measureSets[system], 'America/Denver')
  const findings = Object.entries(findingSentences).flatMap(([code, entries]) =>
    Object.entries(entries).flatMap(([variant, write]) => {
      const facts = (findingFacts as unknown as Record<string, Record<string, object>>)[code]?.[variant] ?? {}
      const { message, nextStep } = (write as unknown as AnyEntry)(facts, say)
      return [message, nextStep].map((text) => ({ entry: `${code} ${variant}`, text }))
    }),
  )
  const unweighed = Object.entries(unweighedFacts).map((why) => ({
    entry: why[0],
    text: sayUnweighed(why as unknown as WhyUnweighed, say),
  }))
  const problems = [
    { code: 'identical-x', value: '30', message: '' },
    { code: 'identical-y', value: '30000', message: '' },
    { code: 'no-slope', value: '3 points', message: '' },
  ].map((problem) => ({ entry: problem.code, text: sayLineProblem(problem, say) }))
  return [...findings, ...unweighed, ...problems]
}

const symbols: Readonly<Record<MeasureSystem, readonly string[]>> = {
  'lb, psi, ft': ['lb', 'psi', 'ft'],
  'kg, kPa, m': ['kg', 'kPa', 'm'],
  'kg, bar, m': ['kg', 'bar', 'm'],
}
const everySymbol = [...new Set(Object.values(symbols).flat())]

describe('every sentence', () => {
  it('stands in the catalogue with facts to say', () => {
    expect(everySentence('lb, psi, ft').length).toBeGreaterThan(70)
  })

  it.each(measureSystems)('says %s and no other measure', (system) => {
    // The unit that a wrong number fits is told as it is, whatever is in use.
    const others = everySymbol.filter((symbol) => !symbols[system].includes(symbol))
    for (const { entry, text } of everySentence(system)) {
      const told = text.replaceAll('like kPa typed', '').replaceAll('it showed kPa', '')
      for (const other of others)
        expect({ entry, text, other: new RegExp(`\\b${other}\\b`).exec(told)?.[0] }).toEqual({
          entry,
          text,
          other: undefined,
        })
    }
    const all = everySentence(system)
      .map(({ text }) => text)
      .join(' ')
    for (const symbol of symbols[system]) expect(all).toMatch(new RegExp(`\\d ${symbol}\\b`))
  })

  it.each(measureSystems)('is whole in %s: a capital first, a full stop last, nothing missing between', (system) => {
    for (const { entry, text } of everySentence(system)) {
      expect(text, entry).toMatch(/^[A-Z0-9][^\n]*\.$/)
      expect(text, entry).not.toMatch(/ {2}|\.\.| ,| \.|NaN|undefined|null|Infinity|\[object/)
    }
  })
})
