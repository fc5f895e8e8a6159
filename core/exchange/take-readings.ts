import { folderFiles } from '#core/exchange/folder-files.ts'
import { complaints, findPlace, type TakerOf } from '#core/exchange/import-job.ts'
import { faulty } from '#core/exchange/places.ts'
import type { RowReader } from '#core/exchange/row-reader.ts'
import { findTicket } from '#core/exchange/take-tickets.ts'
import { emptyBatch, pressureWidth, readingWidth } from '#core/store/reading-batch.ts'
import type { Stored } from '#core/store/kept-table.ts'

const rowsPerBatch = 1024
/** No reading has so many circuits; a file that says so is kept in parts. */
const rowsPerReading = 10_000
/** Names of faulty readings that are remembered; beyond that the problems are too many anyway. */
const manyFaulty = 100_000

const { reading: name, taken_at, psi, elevation_ft, temperature_f, lift } = folderFiles.readings.columns

/** The value of an optional cell: null when it is empty, undefined when it is not accepted. */
const optionalCell = <T>(text: string, parse: (text: string) => T | undefined): T | null | undefined =>
  text === '' ? null : parse(text)

/**
 * Taker of readings, the one file that may have a million rows: rows are gathered and kept in batches, and a plain row
 * is read on a short way. Whatever is not plain goes through the reader like the rows of every other file.
 */
export const takeReadings: TakerOf<'readings'> = (job, counts) => {
  const say = complaints(job, 'readings')
  const { units, scales } = job.places
  const { ledger } = job
  let batch = emptyBatch()
  /** Cells of the row that began the latest reading; undefined when the next row begins one in any case. */
  let latest: readonly string[] | undefined
  let latestTicket: { scale: string; ticket: string; id: number | undefined } | undefined

  const flush = () => {
    const kept = batch
    batch = emptyBatch()
    latest = undefined
    if (kept.pressureLines.length === 0) return
    const readingOf = Array.from(kept.pressureLines, (_, index) => kept.pressures[index * pressureWidth] as number)
    const { added, completed, same, contradictions } = ledger.readingBatches.keep(kept)
    counts.added += added
    counts.completed += completed
    counts.same += same
    for (const { pressure, differences } of contradictions) {
      const first = (readingOf[pressure] as number) * readingWidth
      const [, takenAt = null, ticketId = null, elevationFt = null, temperatureF = null, liftState = null] =
        kept.readings.slice(first, first + readingWidth)
      const said = {
        taken_at: takenAt,
        elevation_ft: elevationFt,
        temperature_f: temperatureF,
        lift: liftState,
        psi: kept.pressures[pressure * pressureWidth + 2] as number,
        ticket: typeof ticketId === 'number' ? ledger.ticketName(ticketId) : null,
      }
      say.contradicts(
        kept.pressureLines[pressure] as number,
        said,
        differences,
        { ticket_id: 'ticket' },
        ({ column, stored }) => (column === 'ticket_id' ? ledger.ticketName(Number(stored)) : undefined),
      )
    }
  }

  const spoil = (reading: string | null) => {
    job.incompleteEvidence = true
    if (reading !== null && job.faultyReadings.size < manyFaulty) job.faultyReadings.add(reading)
  }

  const startReading = (line: number, values: readonly Stored[]) => {
    if (batch.pressureLines.length >= rowsPerBatch) flush()
    for (const value of values) batch.readings.push(value)
    batch.readingLines.push(line)
  }

  const addPressure = (line: number, circuitId: number, value: number) => {
    batch.pressures.push(batch.readingLines.length - 1, circuitId, value)
    batch.pressureLines.push(line)
  }

  /** The ticket of a row, looked up anew only where it differs from that of the row before. */
  const ticketOf = (scale: string, ticket: string): number | undefined => {
    if (latestTicket?.ticket !== ticket || latestTicket.scale !== scale) {
      const scaleId = scales.get(scale)
      latestTicket = {
        scale,
        ticket,
        id: scaleId === undefined || scaleId === faulty ? undefined : ledger.tickets.find([scaleId, ticket]),
      }
    }
    return latestTicket.id
  }

  /** Reads plain rows by where the header has its columns. */
  const shortWay = ({ positions, width }: RowReader<'readings'>) => {
    const [
      nameAt = -1,
      timeAt = -1,
      unitAt = -1,
      groupAt = -1,
      circuitAt = -1,
      psiAt = -1,
      scaleAt = -1,
      ticketAt = -1,
      elevationAt = -1,
      temperatureAt = -1,
      liftAt = -1,
    ] = positions
    const sharedAt = [nameAt, timeAt, scaleAt, ticketAt, elevationAt, temperatureAt, liftAt].filter(
      (position) => position >= 0,
    )
    const belongsTo = (cells: readonly string[], reading: readonly string[]): boolean => {
      for (const position of sharedAt) if (cells[position] !== reading[position]) return false
      return true
    }
    return (cells: readonly string[], line: number): boolean => {
      if (cells.length !== width) return false
      const circuitId = units
        .get(cells[unitAt] ?? '')
        ?.groups.get(cells[groupAt] ?? '')
        ?.circuits.get(cells[circuitAt] ?? '')
      const pressure = psi.type.parse(cells[psiAt] ?? '')
      if (pressure === undefined || circuitId === undefined || circuitId === faulty) return false
      if (latest === undefined || batch.pressureLines.length >= rowsPerReading || !belongsTo(cells, latest)) {
        const text = cells[nameAt] ?? ''
        const scale = cells[scaleAt] ?? ''
        const ticket = cells[ticketAt] ?? ''
        const takenAt = taken_at.type.parse(cells[timeAt] ?? '')
        const ticketId = scale === '' && ticket === '' ? null : ticketOf(scale, ticket)
        const elevationFt = optionalCell(cells[elevationAt] ?? '', elevation_ft.type.parse)
        const temperatureF = optionalCell(cells[temperatureAt] ?? '', temperature_f.type.parse)
        const liftState = optionalCell(cells[liftAt] ?? '', lift.type.parse)
        if (text === '' || text.trim() !== text || name.type.parse(text) === undefined || takenAt === undefined)
          return false
        if (
          ticketId === undefined ||
          elevationFt === undefined ||
          temperatureF === undefined ||
          liftState === undefined
        )
          return false
        startReading(line, [text, takenAt, ticketId, elevationFt, temperatureF, liftState])
        latest = cells
      }
      addPressure(line, circuitId, pressure)
      return true
    }
  }
  let quick: ((cells: readonly string[], line: number) => boolean) | undefined

  return {
    quick: (cells, line, reader) => {
      quick ??= shortWay(reader)
      return quick(cells, line)
    },
    take: (row, line, lastRound) => {
      latest = undefined
      let sound = true
      const place = findPlace(job, say, row, line)
      let ticketId: number | null | undefined = null
      if (row.scale === null && row.ticket !== null) {
        say.say(
          line,
          'scale',
          '',
          'the scale of the ticket',
          'the ticket has no scale; the scale of the ticket is needed.',
        )
        sound = false
      } else if (row.scale !== null && row.ticket === null) {
        say.say(
          line,
          'ticket',
          '',
          'the number of the ticket, or no scale',
          'the scale has no ticket; the number of the ticket is needed, or no scale.',
        )
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
      startReading(line, [row.reading, row.taken_at, ticketId, row.elevation_ft, row.temperature_f, row.lift])
      addPressure(line, place.circuitId, row.psi)
      if (row.taken_at === null) flush()
      return undefined
    },
    spoil: (row) => spoil(row.reading),
    end: flush,
  }
}
