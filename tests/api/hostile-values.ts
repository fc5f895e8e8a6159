import type { InputShape } from '#tests/api/procedure-list.ts'
import { samples } from '#tests/store/attachment-samples.ts'

/**
 * A small generator of its own, so that a case can be made again from its seed alone (Mulberry32, a public-domain
 * recipe, from memory).
 */
export function drawsFrom(seed: number) {
  let state = seed >>> 0
  const next = () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32
  }
  const below = (limit: number) => Math.floor(next() * limit)
  const pick = <T>(from: readonly T[]): T => from[below(from.length)] as T
  return { next, below, pick, chance: (share: number) => next() < share }
}
export type Draws = ReturnType<typeof drawsFrom>

export interface Place {
  /** A folder in which the app may make what it is asked to. */
  readonly inside: string
  /** A folder beside it, in which it may never touch anything. */
  readonly outside: string
  /** Names of the record that the procedures know. */
  readonly known: readonly string[]
}

const deep = (levels: number, kind: 'list' | 'object'): unknown => {
  let value: unknown = 'bottom'
  for (let level = 0; level < levels; level += 1) value = kind === 'list' ? [value] : { a: value }
  return value
}

const texts = [
  '',
  ' ',
  '\0',
  'a\0b',
  '\u202egnp',
  '\ud800',
  '\udfff\ud800',
  '💀'.repeat(50),
  'é'.normalize('NFD'),
  '\r\n',
  "'; drop table unit; --",
  '" or 1=1 --',
  '%',
  '_',
  '%s%n%x',
  '$' + '{7*7}',
  '{{7*7}}',
  '<script>alert(1)</script>',
  '<img src=x onerror=alert(1)>',
  '=1+1',
  '@SUM(A1)',
  "+cmd|'/C calc'!A0",
  '-2+3',
  '\t=1',
  '__proto__',
  'constructor',
  'prototype',
  'toString',
  'hasOwnProperty',
  'null',
  'undefined',
  'NaN',
  'true',
  '[object Object]',
  '1e999',
  '-0',
  '0x10',
  '1_000',
  '٣',
  '2025-02-30',
  '0000-00-00',
  '9999-12-31',
  '+275760-09-13',
  '2025-01-01T00:00:00Z',
  '2025-13-01T99:99:99+99:99',
  'https://example.com/',
  'javascript:alert(1)',
  'Mars/Olympus',
  'America/Denver',
  'x'.repeat(201),
  'x'.repeat(4097),
  'x'.repeat(100_000),
] as const

const paths = ({ inside, outside }: Place) => [
  '..',
  '.',
  '../..',
  '../../../../etc/passwd',
  `${inside}/../outside/new.tareline`,
  `${inside}/./../outside`,
  `${outside}/\0`,
  `${inside}/a\0.tareline`,
  '/dev/null',
  '/dev/zero',
  '/proc/self/mem',
  '/proc/self/cwd/x',
  '/dev/stdin',
  `${inside}/missing/x.tareline`,
  inside,
  `${inside}/`,
  `//${inside}`,
  '/',
  '',
  '~',
  '~/x',
  'C:\\Windows\\win.ini',
  'C:\\x\\..\\y',
  'C:con',
  'CON',
  'NUL',
  'COM1',
  'lpt1.csv',
  '\\\\example.com\\share\\x',
  '\\\\.\\PhysicalDrive0',
  '\\\\?\\C:\\x',
  'file:///etc/passwd',
  'http://127.0.0.1/x',
  `${inside}/x.tareline:stream`,
  `${inside}/${'n'.repeat(300)}`,
  `/${'d/'.repeat(2000)}x`,
  `${inside}/%2e%2e/outside/x`,
  `${inside}/fleet.tareline`,
  `${inside}/fleet.tareline/x`,
  `${inside}/letter.tareline`,
  `${inside}/link/x.tareline`,
  `${inside}/new-${'é'.repeat(10)}.tareline`,
  'day-2025-01-01T000000000Z.tareline/../../outside/x',
]

/** Values that no procedure is made for. */
function hostile(draws: Draws, place: Place): unknown {
  const { pick } = draws
  return pick<() => unknown>([
    () => pick(texts),
    () => pick(texts),
    () => pick(paths(place)),
    () => pick(paths(place)),
    () => pick(place.known),
    () =>
      pick([
        0,
        -0,
        1,
        -1,
        0.1,
        2 ** 31,
        2 ** 53,
        -(2 ** 63),
        1e308,
        5e-324,
        Number.NaN,
        Number.POSITIVE_INFINITY,
        Number.NEGATIVE_INFINITY,
      ]),
    () => pick([0n, -1n, 10n ** 30n, 2n ** 64n]),
    () =>
      pick<unknown>([
        new Date(),
        new Date(Number.NaN),
        new Date(8.64e15),
        new Set([1, '..']),
        new Map([['__proto__', 1]]),
        new URL('https://example.com/..'),
        /(a+)+$/,
      ]),
    () => pick([null, undefined, true, false]),
    () =>
      pick<unknown>([
        [],
        {},
        [[]],
        [null],
        [undefined],
        Array.from({ length: 2000 }, (_, at) => at),
        ['__proto__'],
        [{}],
      ]),
    () => pick([deep(50, 'list'), deep(500, 'object'), deep(3000, 'list')]),
    () => JSON.parse('{"__proto__":{"polluted":1}}') as unknown,
    () =>
      pick<unknown>([
        { constructor: { prototype: { polluted: 1 } } },
        { toString: 1 },
        { valueOf: null },
        Object.fromEntries([['then', 1]]),
        { length: 1e9 },
        { toJSON: 'x' },
        { hasOwnProperty: 1 },
      ]),
    () => new File([pick(texts)], pick(['../../x.csv', 'a\0b', 'NUL', 'x'.repeat(300), '=1.csv'])),
    () => 'y'.repeat(1_000_000),
  ])()
}

/** A value that fits a shape, as often as a shape alone can say. */
export function fitting(shape: InputShape, draws: Draws, place: Place): unknown {
  const { below, chance, pick } = draws
  const choices = shape.anyOf ?? shape.oneOf
  if (choices) return fitting(pick(choices), draws, place)
  if (shape.const !== undefined) return shape.const
  if (shape.enum) return pick(shape.enum)
  if (shape.type === 'object') {
    const entries = Object.entries(shape.properties ?? {}).filter(
      ([name]) => shape.required?.includes(name) === true || chance(0.6),
    )
    return Object.fromEntries(entries.map(([name, part]) => [name, fitting(part, draws, place)]))
  }
  if (shape.type === 'array')
    return Array.from({ length: Math.max(shape.minItems ?? 0, 1 + below(3)) }, () =>
      fitting(shape.items ?? {}, draws, place),
    )
  if (shape.type === 'integer' || shape.type === 'number') {
    const [low, high] = [Math.max(shape.minimum ?? -1000, -1e6), Math.min(shape.maximum ?? 1000, 1e6)]
    // Ids of the record are small.
    if (shape.type === 'integer' && shape.minimum === 1 && chance(0.5)) return 1 + below(4)
    const value = low + draws.next() * (high - low)
    return shape.type === 'integer' ? Math.round(value) : value
  }
  if (shape.type === 'boolean') return chance(0.5)
  if (shape.type === 'null') return null
  if (shape.contentEncoding === 'binary') {
    const [name, type, bytes] = pick(samples)
    return new File(
      [bytes.subarray(0, chance(0.5) ? bytes.byteLength : below(bytes.byteLength))],
      chance(0.5) ? name : pick(texts),
      { type: chance(0.5) ? type : 'text/html' },
    )
  }
  if (shape.type === 'string')
    return shape.maxLength === 10
      ? pick(['2025-03-03', '2026-11-25', '2031-01-01'])
      : pick([...place.known, `${place.inside}/made-${below(3)}`, '2025-03-03T12:00:00Z'])
  return pick(place.known)
}

/** Puts something hostile at one place of a value, under a key of its own, or in place of the whole. */
export function spoilt(value: unknown, draws: Draws, place: Place): unknown {
  const { below, chance, pick } = draws
  if (typeof value !== 'object' || value === null || value instanceof Date || chance(0.12)) return hostile(draws, place)
  if (Array.isArray(value)) {
    const at = below(value.length + 1)
    return value.toSpliced(
      at,
      chance(0.7) ? 1 : 0,
      at < value.length && chance(0.5) ? spoilt(value[at], draws, place) : hostile(draws, place),
    )
  }
  const keys = Object.keys(value)
  const copy: Record<string, unknown> = { ...value }
  if (keys.length === 0 || chance(0.15)) {
    const key = pick(['__proto__', 'constructor', 'prototype', 'toString', 'then', 'extra', '', '0'])
    Object.defineProperty(copy, key, {
      value: hostile(draws, place),
      enumerable: true,
      configurable: true,
      writable: true,
    })
    return copy
  }
  const key = pick(keys)
  if (chance(0.1)) delete copy[key]
  else copy[key] = chance(0.4) ? spoilt(copy[key], draws, place) : hostile(draws, place)
  return copy
}
