import { copyFileSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import type { ForeignOutcome } from '#core/contracts/foreign.ts'
import { importForeign } from '#core/foreign/import-foreign.ts'
import { encodeText } from '#core/foreign/mapping/cells.ts'
import { type ForeignMapping, foreignMapping } from '#core/foreign/mapping/mapping.ts'
import { previewForeign } from '#core/foreign/preview-foreign.ts'
import { checkFile } from '#core/store/check-file.ts'
import { readForeignFacts } from '#core/store/mappings.ts'
import { type Store, openStore } from '#core/store/open.ts'
import { TarelineError } from '#core/words/problem.ts'
import { drawsFrom } from '#tests/api/hostile-values.ts'
import { guessed } from '#tests/exchange/foreign-files.ts'
import {
  type ValidFile,
  mutated,
  mutatedMapping,
  validFiles,
  wideReadingsMapping,
} from '#tests/exchange/foreign-mutations.ts'
import { smallFleet } from '#tests/exchange/small-fleet.ts'
import { bringWell, wholeRecord } from '#tests/exchange/whole-record.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'

/** TARELINE_FOREIGN asks for more cases; TARELINE_SEED for others. */
const cases = Number(process.env['TARELINE_FOREIGN'] ?? (isNightly ? 100_000 : 600))
const seed = Number(process.env['TARELINE_SEED'] ?? 20_261_126)
/** A fleet file takes so many cases; then a fresh one, so that the record stays small. */
const perStore = 250

const count = {
  'mutated files': 0,
  'stored whole': 0,
  'stored in part, with the rest to mend': 0,
  'imported again: nothing new': 0,
  'refused with a line for each problem': 0,
  'refused in a sentence': 0,
}
let failed = 0
let home: string
let template: string
let store: Store
let valid: { file: ValidFile; mapping: ForeignMapping }[]

const open = async (): Promise<Store> => {
  copyFileSync(template, join(home, 'fleet.tareline'))
  const opened = await openStore(join(home, 'fleet.tareline'), { checked: true })
  opened.raw.pragma('synchronous = OFF')
  // An import prepares some forty statements, which is most of a small one's time: here each is prepared once a file.
  const prepare = opened.raw.prepare.bind(opened.raw)
  const prepared = new Map<string, ReturnType<typeof prepare>>()
  opened.raw.prepare = ((sql: string) => {
    const known = prepared.get(sql)
    if (known && !known.busy) return known
    const made = prepare(sql)
    prepared.set(sql, made)
    return made
  }) as typeof opened.raw.prepare
  return opened
}

const close = async () => {
  await store.close()
  expect(await checkFile(join(home, 'fleet.tareline'))).toMatchObject({ sound: true })
  for (const end of ['', '-wal', '-shm']) rmSync(join(home, `fleet.tareline${end}`), { force: true })
}

beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'tareline-foreign-'))
  template = join(home, 'template.tareline')
  const first = await openStore(template)
  await bringWell(first, smallFleet())
  valid = await Promise.all(
    validFiles.map(async (file) => {
      const mapping = await guessed(first, file.bytes)
      return { file, mapping: file.name === 'wide readings' ? wideReadingsMapping(mapping) : mapping }
    }),
  )
  await first.close()
  store = await open()
})

afterAll(async () => {
  keepTally('foreign-csv', { title: 'Foreign CSV files, bytes and mappings mutated', counts: count, failed })
  await close()
  rmSync(home, { recursive: true, force: true })
})

/** An outcome, or the sentence that it was refused in; anything else that is thrown is a fault. */
async function outcomeOf(work: Promise<ForeignOutcome>): Promise<ForeignOutcome | TarelineError> {
  try {
    return await work
  } catch (error) {
    if (error instanceof TarelineError) return error
    throw error
  }
}

async function oneCase(number: number): Promise<void> {
  const draws = drawsFrom(seed + number * 7919)
  const { file, mapping: right } = draws.pick(valid)
  const { bytes, done } = mutated(file.bytes, draws)
  const given = mutatedMapping(right, draws)
  const what = `case ${number}, seed ${seed}: ${file.name}, ${done.join(', ') || 'as it is'}, ${JSON.stringify(given)}`
  const path = join(home, 'other.csv')
  writeFileSync(path, bytes)
  const facts = await readForeignFacts(store.db)
  // What is guessed for any file at all is a mapping.
  const preview = await previewForeign({
    path,
    mapping: draws.chance(0.3) ? null : given,
    zone: 'America/Denver',
    saved: [{ name: 'Right', mapping: right }],
    facts,
  })
  expect(foreignMapping.safeParse(preview.mapping).success, what).toBe(true)
  const mapping = draws.chance(0.2) ? preview.mapping : given
  const goodRows = draws.chance(0.4)
  const bring = (source = path) =>
    outcomeOf(importForeign(store, { path: source, name: 'other.csv', mapping, goodRows }))
  const record = () => JSON.stringify(wholeRecord(store))
  const before = record()
  const outcome = await bring()
  count['mutated files'] += 1
  if (outcome instanceof TarelineError || outcome.outcome === 'refused') {
    expect(record() === before, `${what}: the record changed`).toBe(true)
    expect(store.raw.inTransaction, what).toBe(false)
    if (outcome instanceof TarelineError) {
      count['refused in a sentence'] += 1
      return
    }
    const textLines =
      Math.max(
        1,
        bytes.toString('latin1').split(/\r\n|\r|\n/).length,
        bytes.toString('utf16le').split(/\r\n|\r|\n/).length,
      ) +
      mapping.skipLines +
      1
    expect(outcome.problems.length, what).toBeGreaterThan(0)
    for (const { line, message } of outcome.problems) {
      expect(line !== null && line >= 1 && line <= textLines, `${what}: ${line} ${message}`).toBe(true)
      expect(message.startsWith(`other.csv line ${line}`), message).toBe(true)
    }
    count['refused with a line for each problem'] += 1
    return
  }
  const { read = 0, added = 0, completed = 0, same = 0 } = outcome.files[0] ?? {}
  expect(added + completed + same, what).toBe(read)
  expect(store.raw.pragma('foreign_key_check'), what).toEqual([])
  if (outcome.rest === null) count['stored whole'] += 1
  else {
    count['stored in part, with the rest to mend'] += 1
    // Nothing of it is stored: it is refused again by itself, row by row.
    const after = record()
    writeFileSync(path, encodeText(outcome.rest.text, outcome.rest.encoding))
    const again = await outcomeOf(importForeign(store, { path, name: 'other.csv', mapping, goodRows: false }))
    expect(
      again instanceof TarelineError ||
        (again.outcome === 'refused' && again.problems.every(({ line }) => line !== null)),
      `${what}: ${JSON.stringify(again)}\n${outcome.rest.text.slice(0, 2000)}`,
    ).toBe(true)
    expect(record() === after, what).toBe(true)
    writeFileSync(path, bytes)
  }
  const now = record()
  const second = await bring()
  expect(second instanceof TarelineError ? second.message : second, what).toMatchObject({
    outcome: 'stored',
    rows: outcome.rows,
  })
  expect(record() === now, `${what}: imported twice`).toBe(true)
  count['imported again: nothing new'] += 1
}

it(
  `${cases} mutated files: never a crash, never a half import, every refusal with its line`,
  async () => {
    for (let number = 0; number < cases; number += 1) {
      try {
        await oneCase(number)
      } catch (error) {
        failed += 1
        throw error
      }
      if (number % perStore === perStore - 1) {
        await close()
        store = await open()
      }
    }
    expect(count['stored whole']).toBeGreaterThan(cases / 50)
    expect(count['stored in part, with the rest to mend']).toBeGreaterThan(cases / 100)
    expect(count['refused with a line for each problem']).toBeGreaterThan(cases / 10)
  },
  60_000 + cases * 60,
)
