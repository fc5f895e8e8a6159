import type Database from 'better-sqlite3'
import type { Difference, KeptTable, Stored } from '#core/store/kept-table.ts'
import { addManyRows, manyKept, placeholders, rowsPerStatement } from '#core/store/many-rows.ts'

/**
 * Readings and their pressures on the way into the store, as flat lists: objects for a million rows would take longer
 * to make than the rows to store. A pressure's first value is the place of its reading in the batch.
 */
export interface ReadingBatch {
  /** name, taken_at, ticket_id, elevation_ft, temperature_f, lift, driver, lane of one reading after another. */
  readonly readings: Stored[]
  /** Line of each reading's first row. */
  readonly readingLines: number[]
  /** Reading's place in the batch, circuit's id, psi of one pressure after another. */
  readonly pressures: number[]
  readonly pressureLines: number[]
}

export const readingWidth = 8
export const pressureWidth = 3

export const emptyBatch = (): ReadingBatch => ({ readings: [], readingLines: [], pressures: [], pressureLines: [] })

/** How the rows of a batch fared, and those that contradict what is stored. */
export interface BatchOutcome {
  readonly added: number
  readonly completed: number
  readonly same: number
  /** `pressure` is the place of the row in the batch. */
  readonly contradictions: readonly { readonly pressure: number; readonly differences: readonly Difference[] }[]
}

/**
 * Keeps readings and their pressures batch by batch. Where all of a batch is new, as in a first import, it goes in by
 * statements of many rows; a duplicate undoes its statement, and its rows are then kept one by one.
 */
export function readingBatches(raw: Database.Database, readings: KeptTable<string>) {
  const keepReadings = manyKept(raw, readings, { into: 'reading', key: ['name'] })
  const pressureHead = 'insert into reading_pressure (reading_id, circuit_id, psi)'
  const addPressures = addManyRows(raw, pressureHead, pressureWidth)
  const insertPressure = raw.prepare(`${pressureHead} values ${placeholders(pressureWidth)} on conflict do nothing`)
  const selectPressure = raw.prepare('select psi from reading_pressure where reading_id = ? and circuit_id = ?').pluck()
  const selectPressures = raw.prepare('select circuit_id, psi from reading_pressure where reading_id = ?').raw()

  /** Whether the last batch had rows that are stored already: then the next one mostly has too. */
  let seldomNew = false

  return {
    keep({ readings: values, readingLines, pressures, pressureLines }: ReadingBatch): BatchOutcome {
      const counts = { added: 0, completed: 0, same: 0 }
      const contradictions: { pressure: number; differences: readonly Difference[] }[] = []
      const { ids, fates } = keepReadings(values, readingLines)
      const known = { readingId: 0, psi: new Map<number, number>() }
      const storedPsi = (readingId: number, circuitId: number): number | undefined => {
        if (known.readingId !== readingId) {
          known.readingId = readingId
          known.psi = new Map(selectPressures.all(readingId) as [number, number][])
        }
        return known.psi.get(circuitId)
      }
      const keepPressure = (index: number, line: number) => {
        const fate = fates.get(line)
        if (fate !== undefined && fate !== 'completed') {
          contradictions.push({ pressure: index, differences: fate })
          return
        }
        const [readingId = 0, circuitId = 0, psi = 0] = pressures.slice(
          index * pressureWidth,
          (index + 1) * pressureWidth,
        )
        // What is stored is looked up first: rows come here because most of them are.
        const before = storedPsi(readingId, circuitId)
        if (before === undefined && insertPressure.run(readingId, circuitId, psi).changes === 1) {
          counts.added += 1
          return
        }
        const stored = before ?? Number(selectPressure.get(readingId, circuitId))
        if (stored !== psi)
          contradictions.push({ pressure: index, differences: [{ column: 'psi', stored, line: null }] })
        else if (fate === 'completed') counts.completed += 1
        else counts.same += 1
      }
      for (let at = 0; at < pressures.length; at += pressureWidth) pressures[at] = ids[pressures[at] ?? 0] ?? 0
      for (let at = 0; at < pressureLines.length; at += rowsPerStatement) {
        const end = Math.min(at + rowsPerStatement, pressureLines.length)
        const isWhole = !seldomNew && end - at === rowsPerStatement && fates.size === 0
        if (isWhole && addPressures(pressures.slice(at * pressureWidth, end * pressureWidth)) !== undefined)
          counts.added += rowsPerStatement
        else for (const [index, line] of pressureLines.slice(at, end).entries()) keepPressure(at + index, line)
      }
      seldomNew = counts.added < pressureLines.length
      return { ...counts, contradictions }
    },
  }
}
