import type Database from 'better-sqlite3'
import type { Difference, KeptTable, Stored } from '#core/store/kept-table.ts'

/** A reading with what its rows share: taken_at, ticket_id, elevation_ft, temperature_f, lift. */
export interface ReadingRecord {
  readonly name: string
  readonly values: readonly Stored[]
  readonly line: number
}

/** One pressure: `reading` counts within the batch. */
export interface PressureRow {
  readonly reading: number
  readonly circuitId: number
  readonly psi: number
  readonly line: number
}

/** How the rows of a batch fared, and those that contradict what is stored. */
export interface BatchOutcome {
  readonly added: number
  readonly completed: number
  readonly same: number
  readonly contradictions: readonly { readonly line: number; readonly differences: readonly Difference[] }[]
}

/** Rows of one statement: enough to spare most of the calls, few enough for SQLite's statement journal to stay in memory. */
const rowsPerStatement = 64

const isDuplicate = (error: unknown) =>
  error instanceof Error && 'code' in error && (error.code === 'SQLITE_CONSTRAINT_UNIQUE' || error.code === 'SQLITE_CONSTRAINT_PRIMARYKEY')

/**
 * Keeps readings and their pressures batch by batch. Where all of a batch is new, as in a first import, it goes in by
 * statements of many rows; a duplicate undoes its statement, and its rows are then kept one by one.
 */
export function readingBatches(raw: Database.Database, readings: KeptTable<string>) {
  const placeholders = (count: number) => `(?${', ?'.repeat(count - 1)})`
  const insertSql = (head: string, width: number) => `${head} values ${Array(rowsPerStatement).fill(placeholders(width)).join(', ')}`
  const insertReadings = raw.prepare(insertSql('insert into reading (id, name, taken_at, ticket_id, elevation_ft, temperature_f, lift)', 7))
  const pressureHead = 'insert into reading_pressure (reading_id, circuit_id, psi)'
  const insertPressures = raw.prepare(insertSql(pressureHead, 3))
  const insertPressure = raw.prepare(`${pressureHead} values ${placeholders(3)} on conflict do nothing`)
  const selectPressure = raw.prepare('select psi from reading_pressure where reading_id = ? and circuit_id = ?').pluck()
  const selectPressures = raw.prepare('select circuit_id, psi from reading_pressure where reading_id = ?').raw()

  /** Whether all rows of one statement went in; false when one of them is stored already, and then none did. */
  const insertedAll = (statement: Database.Statement, parameters: Stored[]): boolean => {
    try {
      statement.run(parameters)
      return true
    } catch (error) {
      if (!isDuplicate(error)) throw error
      return false
    }
  }

  return {
    keep(records: readonly ReadingRecord[], rows: readonly PressureRow[]): BatchOutcome {
      const counts = { added: 0, completed: 0, same: 0 }
      const contradictions: { line: number; differences: readonly Difference[] }[] = []
      const ids: number[] = []
      /** Lines whose row completed its reading. */
      const completing = new Set<number>()
      /** Lines whose row contradicts its reading. */
      const refused = new Set<number>()

      const keepOne = ({ name, values, line }: ReadingRecord) => {
        const kept = readings.keep([name], values, line)
        if (kept.outcome === 'incomplete') throw new RangeError(`reading ${name} has no time`)
        ids.push(kept.id)
        if (kept.outcome === 'completed') completing.add(line)
        if (kept.outcome === 'contradicts') {
          refused.add(line)
          contradictions.push({ line, differences: kept.differences })
        }
      }
      for (let at = 0; at < records.length; at += rowsPerStatement) {
        const part = records.slice(at, at + rowsPerStatement)
        if (part.length === rowsPerStatement) {
          const first = readings.nextId
          const parameters: Stored[] = []
          for (const [index, { name, values }] of part.entries()) parameters.push(first + index, name, ...values)
          if (insertedAll(insertReadings, parameters)) {
            for (const [index, { line }] of part.entries()) {
              ids.push(first + index)
              readings.noteLine(first + index, line)
            }
            continue
          }
        }
        part.forEach(keepOne)
      }

      const settle = (line: number, isNew: boolean) => {
        if (isNew) counts.added += 1
        else if (completing.has(line)) counts.completed += 1
        else counts.same += 1
      }
      const known = { readingId: 0, psi: new Map<number, number>() }
      const storedPsi = (readingId: number, circuitId: number): number | undefined => {
        if (known.readingId !== readingId) {
          known.readingId = readingId
          known.psi = new Map(selectPressures.all(readingId) as [number, number][])
        }
        return known.psi.get(circuitId)
      }
      const keepPressure = ({ reading, circuitId, psi, line }: PressureRow) => {
        if (refused.has(line)) return
        const readingId = ids[reading] as number
        // What is stored is looked up first: rows come here because most of them are.
        const before = storedPsi(readingId, circuitId)
        if (before === undefined && insertPressure.run(readingId, circuitId, psi).changes === 1) {
          settle(line, true)
          return
        }
        const stored = before ?? (selectPressure.get(readingId, circuitId) as number)
        if (stored === psi) settle(line, false)
        else contradictions.push({ line, differences: [{ column: 'psi', stored, line: null }] })
      }
      for (let at = 0; at < rows.length; at += rowsPerStatement) {
        const part = rows.slice(at, at + rowsPerStatement)
        if (part.length === rowsPerStatement) {
          const parameters: Stored[] = []
          for (const { reading, circuitId, psi } of part) parameters.push(ids[reading] as number, circuitId, psi)
          if (insertedAll(insertPressures, parameters)) {
            for (const { line } of part) settle(line, true)
            continue
          }
        }
        part.forEach(keepPressure)
      }
      contradictions.sort((a, b) => a.line - b.line)
      return { ...counts, contradictions }
    },
  }
}
