import { phrase } from '#core/words/phrase.ts'
import { setImmediate } from 'node:timers/promises'
import type { ForeignOutcome } from '#core/contracts/foreign.ts'
import { folderFiles } from '#core/exchange/folder-files.ts'
import { type ImportOptions, type RecordSource, importRecords } from '#core/exchange/import-records.ts'
import {
  type ForeignProblems,
  type MendText,
  foreignProblems,
  mendText,
  withoutPlace,
} from '#core/foreign/foreign-problems.ts'
import { type Translated, type Translator, foreignSize, readForeign, translator } from '#core/foreign/foreign-rows.ts'
import { type ForeignFacts, type ForeignMapping, columnNames, mappingGaps } from '#core/foreign/mapping/mapping.ts'
import { readForeignFacts } from '#core/store/mappings.ts'
import type { Store } from '#core/store/open.ts'
import { TarelineError } from '#core/words/problem.ts'

export interface ForeignFile {
  readonly path: string
  /** How people know it. */
  readonly name: string
  readonly mapping: ForeignMapping
  /** Whether good rows are imported where others are bad. */
  readonly goodRows: boolean
}

/** What a row of the file comes to. */
type EachRow = (row: Translated, line: number, cells: readonly string[]) => void

/**
 * Rows that are left out, by line, and the tickets and readings that they leave out with them, each with its first
 * line.
 */
interface LeftOut {
  readonly lines: Map<number, string[]>
  readonly keys: Map<string, number>
}

/** More lines that are wrong are no slips: the mapping is. */
const mostLeftOut = 50_000
const mostRounds = 8
const shownProblems = 200

/** Reads the file and translates every row. Answers false where the text broke off. */
async function walkRows(
  { path, mapping }: ForeignFile,
  facts: ForeignFacts,
  problems: ForeignProblems,
  onHeader: (into: Translator, cells: readonly string[]) => void,
  each: EachRow,
  pause: (bytes: number) => Promise<void>,
): Promise<boolean> {
  let header = false
  let into: Translator | undefined
  const whole = await readForeign(
    path,
    mapping,
    {
      fault: problems.fault,
      record: (cells, line) => {
        if (header) {
          const row = into?.translate(cells)
          if (row) each(row, line, cells)
          return
        }
        header = true
        const gaps = mappingGaps(
          mapping,
          columnNames(cells).flatMap((name) => name ?? []),
        )
        for (const gap of gaps)
          problems.fault({
            line,
            value: cells.join(' '),
            accepted: phrase('a header that the mapping fits. {gap}', { gap: gap.replace(/\.$/, '') }),
          })
        if (gaps.length > 0) return
        into = translator(mapping, cells, facts)
        onHeader(into, cells)
      },
    },
    pause,
  )
  if (!header && whole) problems.fault({ line: mapping.skipLines + 1, value: '', accepted: phrase('a header row') })
  return whole
}

/** The rows of the file as the import takes them, but for those that are left out, which go to `rest`. */
function sourceOf(
  file: ForeignFile,
  size: number,
  facts: ForeignFacts,
  problems: ForeignProblems,
  onHeader: (into: Translator) => void,
  leftOut: LeftOut,
  rest: MendText,
): RecordSource {
  const { kind } = file.mapping
  return {
    name: kind,
    size,
    read: async (taker, pause) => {
      // The header of a file that has none that fits is not to be told again.
      taker.record(Object.keys(folderFiles[kind].columns), 0)
      return await walkRows(
        file,
        facts,
        problems,
        (into, cells) => {
          onHeader(into)
          rest.header(cells)
        },
        ({ key, rows, problems: found }, line, cells) => {
          const wrong = leftOut.lines.get(line)
          const first = key === null ? undefined : leftOut.keys.get(key)
          if (wrong !== undefined || first !== undefined) {
            if (rest.isFull)
              throw new TarelineError(
                'too-many',
                phrase(
                  '{name} has more rows to fix than can be fixed by hand, so nothing of it was stored. Look at the mapping, or fix the file itself.',
                  { name: file.name },
                ),
              )
            rest.row(
              cells,
              wrong?.join(' ') ??
                phrase('Left out with line {first} of the same {kind, select, tickets {ticket} other {reading}}.', {
                  first,
                  kind,
                }),
            )
            return
          }
          problems.countRow()
          for (const problem of found) problems.refuse(line, problem)
          for (const row of rows) taker.record(row.cells, problems.noteRow(line, row.origin))
        },
        pause,
      )
    },
  }
}

/**
 * Brings a foreign file into the store: all of it, or, when any row has a problem, nothing; with `goodRows` the tickets
 * and readings that are good, and the rows of the others as a text to mend. One transaction either way. This store's
 * connection must do nothing else meanwhile.
 *
 * Errors: TarelineError `no-file`, `too-large`, `locked`; the signal's reason after a cancel. Faults of the file are in
 * the outcome.
 */
export async function importForeign(
  store: Store,
  file: ForeignFile,
  options: ImportOptions = {},
): Promise<ForeignOutcome> {
  const { signal } = options
  signal?.throwIfAborted()
  const { name, mapping, goodRows } = file
  const size = await foreignSize(file.path)
  const facts = await readForeignFacts(store.db)
  const leftOut: LeftOut = { lines: new Map(), keys: new Map() }
  const pause = async () => {
    await setImmediate()
    signal?.throwIfAborted()
  }
  let refused: ForeignOutcome | undefined
  for (let round = 1; ; round += 1) {
    let into: Translator | undefined
    const problems = foreignProblems(
      name,
      () => into?.origins ?? [],
      facts.measures,
      goodRows ? mostLeftOut : shownProblems,
    )
    const rest = mendText(mapping)
    const source = sourceOf(
      file,
      size,
      facts,
      problems,
      (made) => {
        into = made
      },
      leftOut,
      rest,
    )
    const outcome = await importRecords(
      store,
      {
        sources: [source],
        problems,
        notes: [],
        lineOf: problems.lineOf,
        logged: { subject: 'foreign CSV', key: name },
      },
      options,
    )
    if (outcome.outcome === 'stored') {
      if (refused && problems.rows === 0) return refused
      return {
        ...outcome,
        rows: problems.rows,
        rest: rest.rows === 0 ? null : { rows: rest.rows, text: rest.text(), encoding: mapping.encoding },
      }
    }
    refused = {
      ...outcome,
      problems: outcome.problems.slice(0, shownProblems),
      more: outcome.more || outcome.problems.length > shownProblems,
      canTakeGood: !goodRows && !problems.isTextAtFault,
    }
    if (!goodRows || problems.isTextAtFault || outcome.more || round === mostRounds) return refused
    for (const { line, message } of outcome.problems) {
      if (line === null) continue
      const said = leftOut.lines.get(line) ?? []
      said.push(withoutPlace(message, name, line))
      leftOut.lines.set(line, said)
    }
    if (leftOut.lines.size > mostLeftOut) return refused
    await walkRows(
      file,
      facts,
      foreignProblems(name, () => [], facts.measures, mostLeftOut),
      () => undefined,
      ({ key }, line) => {
        if (key !== null && leftOut.lines.has(line) && !leftOut.keys.has(key)) leftOut.keys.set(key, line)
      },
      pause,
    )
  }
}
