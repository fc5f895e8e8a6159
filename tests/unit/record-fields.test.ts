import fc from 'fast-check'
import { afterEach, describe, expect, it } from 'vitest'
import { columnsOf } from '#core/exchange/folder-files.ts'
import es from '#core/words/languages/es.json' with { type: 'json' }
import { storedMeasures } from '#core/words/measures.ts'
import { type Speech, english, speakBy } from '#core/words/phrase.ts'
import {
  type RecordField,
  acceptedBy,
  fieldsOf,
  lineBreakingWork,
  recordProblems,
  typedSubjects,
  valueProblem,
} from '#core/words/record-fields.ts'
import { countOn } from '#core/words/text.ts'
import { measuresFor } from '#renderer/parts/format.ts'
import { fieldText, shownText } from '#renderer/parts/record-text.ts'

const asked = { now: Date.UTC(2026, 2, 1), measures: storedMeasures, whole: true }
const field = (subject: Parameters<typeof fieldsOf>[0], column: string) => fieldsOf(subject)[column] as RecordField

describe('the fields of records', () => {
  it('accept what the fleet folder accepts, and refuse what it refuses', () => {
    const files = [
      ['yard', 'yards', { name: 'yard' }],
      ['unit', 'units', { number: 'unit', yard_id: null }],
      ['axle group', 'axleGroups', { name: 'group' }],
      ['circuit', 'circuits', { name: 'circuit' }],
      ['sensor', 'sensors', {}],
      ['scale', 'scales', { name: 'scale' }],
    ] as const
    const probes = [
      '-2000',
      '-20',
      '-1',
      '0',
      '0.05',
      '0.5',
      '1',
      '2',
      '3.5',
      '12',
      '13',
      '60.1',
      '150',
      '401',
      '1001',
      '20001',
      '400001',
      '604801',
      '1000001',
      'tractor',
      'drive',
      'gauge',
      'x'.repeat(200),
      'x'.repeat(201),
      'a\u0007b',
    ]
    for (const [subject, file, names] of files) {
      const columns = new Map(columnsOf(file))
      for (const [column, description] of Object.entries(fieldsOf(subject))) {
        const named = (names as Record<string, string | null>)[column]
        if (named === null) continue
        const folder = columns.get(named ?? column)
        expect(folder, `${subject} ${column}`).toBeDefined()
        for (const text of probes) {
          const parsed = folder?.type.parse(text)
          const typed = description.type === 'number' || description.type === 'whole' ? Number(text) : text
          expect(
            valueProblem(description, typed, asked.measures) === null,
            `${subject} ${column} ${text.slice(0, 20)}`,
          ).toBe(parsed !== undefined)
        }
      }
    }
  })

  it('say at the field what is wrong', () => {
    expect(recordProblems('axle group', { name: 'drive', role: 'middle', axles: 2.5 }, asked)).toEqual([
      { field: 'role', message: 'Role: “middle” is not accepted; steer, drive, trailer, lift is.' },
      { field: 'axles', message: 'Axles: “2.5” is not accepted; a whole number from 1 to 12 axles is.' },
    ])
    expect(recordProblems('unit', {}, asked).map(({ field: at }) => at)).toEqual(['number', 'kind'])
  })

  it('refuse times ahead and a removal before the mounting', () => {
    expect(recordProblems('event', { kind: 'other', happened_at: '2026-03-02T00:00:00.000Z' }, asked)).toEqual([
      { field: 'happened_at', message: 'When lies ahead; a time up to now is accepted.' },
    ])
    expect(
      recordProblems(
        'mount',
        { mounted_at: '2026-01-02T00:00:00.000Z', removed_at: '2026-01-01T00:00:00.000Z' },
        asked,
      ).map(({ field: at }) => at),
    ).toEqual(['removed_at'])
    expect(valueProblem(field('event', 'happened_at'), '2026-01-01T00:00:00-06:00', asked.measures)).not.toBeNull()
  })

  it('never throw, whatever they are given', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...typedSubjects),
        fc.dictionary(fc.string(), fc.oneof(fc.string(), fc.double(), fc.constant(null))),
        (subject, values) => {
          expect(Array.isArray(recordProblems(subject, values, asked))).toBe(true)
        },
      ),
      { numRuns: 300 },
    )
  })
})

describe('work behind a change of the record', () => {
  it('breaks the line where springs, height or axles change, and not where something unknown is filled in', () => {
    const was = { air_springs: 4, spring_area_in2: 81, ride_height_in: 8.5, name: 'main' }
    expect(lineBreakingWork('circuit', was, { ...was, ride_height_in: 9 })).toBe('height set')
    expect(lineBreakingWork('circuit', was, { ...was, ride_height_in: 9, spring_area_in2: 85 })).toBe('spring replaced')
    expect(lineBreakingWork('circuit', was, { ...was, name: 'left' })).toBeNull()
    expect(lineBreakingWork('circuit', { ...was, ride_height_in: null }, { ...was, ride_height_in: 9 })).toBeNull()
    expect(lineBreakingWork('axle group', { axles: 2 }, { axles: 3 })).toBe('axle work')
    expect(lineBreakingWork('axle group', { limit_lb: 34_000 }, { limit_lb: 30_000 })).toBeNull()
    expect(lineBreakingWork('unit', { make: 'A' }, { make: 'B' })).toBeNull()
  })
})

describe('numbers that count on', () => {
  it('keep their width and pass over what is taken', () => {
    expect(countOn('T-098', 4, new Set(['T-100']))).toEqual(['T-099', 'T-101', 'T-102', 'T-103'])
    expect(countOn('12B', 2, new Set())).toEqual(['13B', '14B'])
    expect(countOn('Shunter', 2, new Set())).toEqual(['Shunter-2', 'Shunter-3'])
  })

  it('are new, different and as many as asked for', () => {
    fc.assert(
      fc.property(
        fc.string({ maxLength: 6 }),
        fc.integer({ min: 0, max: 99_999 }),
        fc.integer({ min: 1, max: 20 }),
        fc.array(fc.integer({ min: 0, max: 99_999 })),
        (head, digits, count, others) => {
          const taken = new Set([`${head}${digits}`, ...others.map((other) => `${head}${other}`)])
          const next = countOn(`${head}${digits}`, count, taken)
          expect(new Set(next).size).toBe(count)
          for (const number of next) expect(taken.has(number)).toBe(false)
        },
      ),
      { numRuns: 300 },
    )
  })
})

describe('a word of a closed list', () => {
  const speech: Speech = { language: 'es', locale: 'es-US', catalogue: es }
  afterEach(() => speakBy(() => english))

  it('is shown and asked for in the language of the window, and kept in the field as it is stored', () => {
    speakBy(() => speech)
    const kind = field('event', 'kind')
    const measures = measuresFor(0, 'UTC')
    expect(acceptedBy(kind, storedMeasures)).toMatch(/^válvula /)
    expect(shownText(kind, 'other', measures)).toBe('otro')
    expect(fieldText(kind, 'other', measures)).toBe('other')
  })
})
