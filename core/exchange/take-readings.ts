import { folderFiles } from '#core/exchange/folder-files.ts'
import { complaints, findPlace, type TakerOf } from '#core/exchange/import-job.ts'
import { faulty } from '#core/exchange/places.ts'
import { findTicket } from '#core/exchange/take-tickets.ts'
import type { PressureRow, ReadingRecord } from '#core/store/reading-batch.ts'
import type { Stored } from '#core/store/kept-table.ts'

const rowsPerBatch = 1024
/** Names of faulty readings that are remembered; beyond that the problems are too many anyway. */
const manyFaulty = 100_000

const { taken_at, psi, elevation_ft, temperature_f, lift } = folderFiles.readings.columns

const empty = (text: string | undefined) => text === undefined || text === ''

/**
 * Taker of readings, the one file that may have a million rows: rows are gathered and kept in batches, and a plain row is
 * read on a short way. Whatever is not plain goes through the reader like the rows of every other file.
 */
export const takeReadings: TakerOf<'readings'> = (job, counts) => {
  const say = complaints(job, 'readings')
  const { units, scales } = job.places
  const { ledger } = job
  let records: ReadingRecord[] = []
  let rows: PressureRow[] = []
  /** The shared cells of the latest reading, as they were written. */
  let latest: readonly (string | undefined)[] = []
  let ticketText = ''
  let scaleText = ''
  let latestTicket: number | undefined

  const flush = () => {
    if (rows.length === 0) return
    const { added, completed, same, contradictions } = ledger.readingBatches.keep(records, rows)
    counts.added += added
    counts.completed += completed
    counts.same += same
    const [kept, keptRows] = [records, rows]
    records = []
    rows = []
    latest = []
    for (const { line, differences } of contradictions) {
      const row = keptRows.find((each) => each.line === line)
      const record = row && kept[row.reading]
      if (!record) throw new RangeError(`line ${line} is not in the batch`)
      const [takenAt = null, ticketId = null, elevationFt = null, temperatureF = null, liftState = null] = record.values
      const said = {
        taken_at: takenAt, elevation_ft: elevationFt, temperature_f: temperatureF, lift: liftState, psi: row.psi,
        ticket: typeof ticketId === 'number' ? ledger.ticketName(ticketId) : null,
      }
      say.contradicts(line, said, differences, { ticket_id: 'ticket' }, ({ column, stored }) => (column === 'ticket_id' ? ledger.ticketName(Number(stored)) : undefined))
    }
  }

  const spoil = (reading: string | null) => {
    job.incompleteEvidence = true
    if (reading !== null && job.faultyReadings.size < manyFaulty) job.faultyReadings.add(reading)
  }

  const startReading = (name: string, values: readonly Stored[], line: number) => {
    if (rows.length >= rowsPerBatch) flush()
    records.push({ name, values, line })
  }

  const addPressure = (circuitId: number, value: number, line: number) => {
    rows.push({ reading: records.length - 1, circuitId, psi: value, line })
  }

  /** The ticket of a row, looked up anew only where it differs from that of the row before. */
  const ticketOf = (scale: string, ticket: string): number | undefined => {
    if (ticket === ticketText && scale === scaleText) return latestTicket
    const scaleId = scales.get(scale)
    latestTicket = scaleId === undefined || scaleId === faulty ? undefined : ledger.tickets.find([scaleId, ticket])
    ticketText = ticket
    scaleText = scale
    return latestTicket
  }

  return {
    quick: (cells, line, { positions, width }) => {
      if (cells.length !== width) return false
      const cell = (index: number) => {
        const position = positions[index]
        return position === undefined ? undefined : cells[position]
      }
      const pressureText = cell(5)
      const circuitId = units.get(cell(2) ?? '')?.groups.get(cell(3) ?? '')?.circuits.get(cell(4) ?? '')
      const pressure = pressureText === undefined ? undefined : psi.type.parse(pressureText)
      if (pressure === undefined || circuitId === undefined || circuitId === faulty) return false

      const name = cell(0)
      const shared = [name, cell(1), cell(6), cell(7), cell(8), cell(9), cell(10)]
      if (rows.length < 10 * rowsPerBatch && latest.length > 0 && shared.every((text, index) => text === latest[index])) {
        addPressure(circuitId, pressure, line)
        return true
      }
      const [, at, scale, ticket, elevation, temperature, liftText] = shared
      if (empty(name) || empty(at) || name?.trim() !== name || folderFiles.readings.columns.reading.type.parse(name ?? '') === undefined) return false
      const takenAt = taken_at.type.parse(at as string)
      const elevationFt = empty(elevation) ? null : elevation_ft.type.parse(elevation as string)
      const temperatureF = empty(temperature) ? null : temperature_f.type.parse(temperature as string)
      const liftState = empty(liftText) ? null : lift.type.parse(liftText as string)
      const ticketId = empty(scale) && empty(ticket) ? null : ticketOf(scale ?? '', ticket ?? '')
      if (takenAt === undefined || elevationFt === undefined || temperatureF === undefined || liftState === undefined || ticketId === undefined) return false
      startReading(name as string, [takenAt, ticketId, elevationFt, temperatureF, liftState], line)
      latest = shared
      addPressure(circuitId, pressure, line)
      return true
    },
    take: (row, line, lastRound) => {
      latest = []
      let sound = true
      const place = findPlace(job, say, row, line)
      let ticketId: number | null | undefined = null
      if (row.scale === null && row.ticket !== null) {
        say.say(line, 'scale', '', 'the scale of the ticket', 'the ticket has no scale; the scale of the ticket is needed.')
        sound = false
      } else if (row.scale !== null && row.ticket === null) {
        say.say(line, 'ticket', '', 'the number of the ticket, or no scale', 'the scale has no ticket; the number of the ticket is needed, or no scale.')
        sound = false
      } else if (row.scale !== null && row.ticket !== null) ticketId = findTicket(job, say, row.scale, row.ticket, line)
      if (!sound || place?.circuitId === undefined || ticketId === undefined) {
        spoil(row.reading)
        return undefined
      }
      if (row.taken_at === null) {
        flush()
        if (ledger.readings.find([row.reading]) === undefined) {
          if (!lastRound) return 'later'
          say.missing(line, 'taken_at')
          spoil(row.reading)
          return undefined
        }
      }
      // A reading without its time goes alone: only what is stored already can have none.
      startReading(row.reading, [row.taken_at, ticketId, row.elevation_ft, row.temperature_f, row.lift], line)
      addPressure(place.circuitId, row.psi, line)
      if (row.taken_at === null) flush()
      return undefined
    },
    spoil: (row) => spoil(row.reading),
    end: flush,
  }
}
