import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { type FolderRow, folderFiles } from '#core/exchange/folder-files.ts'
import {
  type Complaints,
  type ImportJob,
  type TakerOf,
  complaints,
  count,
  findPlace,
} from '#core/exchange/import-job.ts'
import { faulty } from '#core/exchange/places.ts'
import { inOneOrder, pairOf } from '#core/evidence/one-platform.ts'
import type { RowReader } from '#core/exchange/row-reader.ts'
import type { Kept, Stored } from '#core/store/kept-table.ts'
import { rowsPerStatement } from '#core/store/many-rows.ts'
import { emptyBatch, pressureWidth, readingWidth } from '#core/store/reading-batch.ts'
import { at } from '#core/words/lists.ts'

const { ticket: ticketNumber, weighed_at, weight_lb, gross_lb } = folderFiles.tickets.columns

/** The value of an optional cell: null when it is empty, undefined when it is not accepted. */
const optionalCell = <T>(text: string, parse: (text: string) => T | undefined): T | null | undefined =>
  text === '' ? null : parse(text)

/** The name of a ticket in the set of faulty ones. */
const ticketKey = (scale: string, ticket: string) => `${scale}\n${ticket}`

/**
 * Finds the ticket that a row names; undefined when it is not there, which is told, or is named by a faulty row, which
 * was told.
 */
export function findTicket(
  job: ImportJob,
  say: Complaints,
  scale: string,
  ticket: string,
  line: number,
): number | undefined {
  const scaleId = job.places.scales.get(scale)
  if (scaleId === undefined) {
    say.unknown(line, 'scale', scale, word('scale'), 'scales.csv')
    return undefined
  }
  if (scaleId === faulty) return undefined
  const id = job.ledger.tickets.find([scaleId, ticket])
  if (id === undefined && !job.faultyTickets.has(ticketKey(scale, ticket)))
    say.unknown(line, 'ticket', ticket, phrase('ticket of {scale} with the number', { scale }), 'tickets.csv')
  return id
}

export const takeTickets: TakerOf<'tickets'> = (job, counts) => {
  const say = complaints(job, 'tickets')
  const spoil = (scale: string, ticket: string) => {
    job.faultyTickets.add(ticketKey(scale, ticket))
    job.incompleteEvidence = true
  }
  /** The row before and its ticket: a ticket's rows mostly follow each other and say the same of it. */
  let latest:
    | {
        row: Pick<FolderRow<'tickets'>, 'scale' | 'ticket' | 'weighed_at' | 'gross_lb' | 'driver' | 'lane'>
        id: number
        cells: readonly string[]
      }
    | undefined
  /** Cells of the row that is on its way through the reader. */
  let offered: readonly string[] = []
  const keepTicket = (row: FolderRow<'tickets'>, scaleId: number, line: number): Kept => {
    if (
      latest?.row.ticket === row.ticket &&
      latest.row.scale === row.scale &&
      latest.row.weighed_at === row.weighed_at &&
      latest.row.gross_lb === row.gross_lb &&
      latest.row.driver === row.driver &&
      latest.row.lane === row.lane
    ) {
      return { outcome: 'same', id: latest.id }
    }
    const kept = job.ledger.tickets.keep(
      [scaleId, row.ticket],
      [row.weighed_at, row.gross_lb, row.driver, row.lane],
      line,
    )
    latest =
      kept.outcome === 'incomplete' || kept.outcome === 'contradicts' ? undefined : { row, id: kept.id, cells: offered }
    return kept
  }
  /** The two groups on one platform that a row names: `drive + tag`; undefined where it names one, or none. */
  const pairIn = ({ unit, group }: FolderRow<'tickets'>) => {
    const groups = job.places.units.get(unit)?.groups
    if (groups === undefined || group === null || groups.has(group)) return undefined
    return pairOf(group, (name) => groups.has(name))
  }
  let together = job.ledger.hasWeightsTogether()
  /** A group is weighed alone or together with one other, never both: refuses a row that would make it so. */
  const weighedTwice = (row: FolderRow<'tickets'>, line: number) => {
    const accepted = phrase('one weight for each group, its own or one together with another')
    say.say(
      line,
      'group',
      row.group,
      accepted,
      phrase('{group} is weighed on this ticket in another row; {accepted}, is accepted.', {
        group: row.group,
        accepted,
      }),
    )
    spoil(row.scale, row.ticket)
  }
  const keepTogether = (
    row: FolderRow<'tickets'>,
    [one, other]: readonly [string, string],
    ticketId: number,
    line: number,
  ): Kept | undefined => {
    const unit = job.places.units.get(row.unit)
    const first = unit?.groups.get(one)?.id ?? faulty
    const second = unit?.groups.get(other)?.id ?? faulty
    if (unit === undefined || unit.id === faulty || first === faulty || second === faulty) {
      spoil(row.scale, row.ticket)
      return undefined
    }
    const ids = inOneOrder(first, second)
    const kept = job.ledger.ticketsTogether.keep([ticketId, ...ids], [unit.id, row.weight_lb], line)
    const own = kept.outcome === 'incomplete' ? 0 : kept.id
    if (
      ids.some(
        (id) => job.ledger.ticketHasWeight(ticketId, unit.id, id) || job.ledger.isWeighedTogether(ticketId, id, own),
      )
    ) {
      weighedTwice(row, line)
      return undefined
    }
    together = true
    // The unit is named by a row of its own, whatever else of it was weighed.
    job.ledger.ticketWeights.keep([ticketId, unit.id, null], [null], line)
    return kept
  }
  /** Weights of plain rows on their way into the store, each with what became of its ticket. */
  let batch: { values: [number, number, number, number]; line: number; ticket: Kept }[] = []
  /** Whether the last batch had rows that are stored already: then the next one mostly has too. */
  let seldomNew = false
  const flush = () => {
    const kept = batch
    batch = []
    const last =
      seldomNew || kept.length < rowsPerStatement
        ? undefined
        : job.ledger.addTicketWeights(kept.flatMap(({ values }) => values))
    const added = counts.added
    for (const [index, { values, line, ticket }] of kept.entries()) {
      if (last !== undefined) {
        const id = last - (kept.length - 1 - index)
        job.ledger.ticketWeights.noteLine(id, line)
        count(counts, ticket, { outcome: 'added', id })
        continue
      }
      const [ticketId, unitId, groupId, weight] = values
      const row = job.ledger.ticketWeights.keep([ticketId, unitId, groupId], [weight], line)
      if (row.outcome === 'contradicts') say.contradicts(line, { weight_lb: weight }, row.differences)
      else count(counts, ticket, row)
    }
    seldomNew = counts.added - added < kept.length
  }
  /** Reads plain rows by where the header has its columns: of a ticket's rows mostly the group's weight alone is new. */
  const shortWay = ({ positions, width }: RowReader<'tickets'>) => {
    const [
      scaleAt = -1,
      numberAt = -1,
      timeAt = -1,
      unitAt = -1,
      groupAt = -1,
      weightAt = -1,
      grossAt = -1,
      driverAt = -1,
      laneAt = -1,
    ] = positions
    const sharedAt = [scaleAt, numberAt, timeAt, grossAt, driverAt, laneAt].filter((position) => position >= 0)
    /** The ticket of a row that is another than that of the row before. */
    const otherTicket = (cells: readonly string[], line: number): Kept | undefined => {
      const scale = cells[scaleAt] ?? ''
      const scaleId = job.places.scales.get(scale)
      const number = cells[numberAt] ?? ''
      const weighedAt = weighed_at.type.parse(cells[timeAt] ?? '')
      const grossLb = optionalCell(cells[grossAt] ?? '', gross_lb.type.parse)
      const drivenBy = optionalCell((cells[driverAt] ?? '').trim(), driver.type.parse)
      const loadedAt = optionalCell((cells[laneAt] ?? '').trim(), lane.type.parse)
      if (
        scaleId === undefined ||
        scaleId === faulty ||
        number.trim() !== number ||
        ticketNumber.type.parse(number) === undefined ||
        weighedAt === undefined ||
        grossLb === undefined ||
        drivenBy === undefined ||
        loadedAt === undefined
      )
        return undefined
      const kept = job.ledger.tickets.keep([scaleId, number], [weighedAt, grossLb, drivenBy, loadedAt], line)
      // What contradicts is told in full by the way of every other row, which comes to the same.
      if (kept.outcome === 'incomplete' || kept.outcome === 'contradicts') return undefined
      const row = { scale, ticket: number, weighed_at: weighedAt, gross_lb: grossLb, driver: drivenBy, lane: loadedAt }
      latest = { row, id: kept.id, cells }
      return kept
    }
    return (cells: readonly string[], line: number): boolean => {
      if (together || cells.length !== width) return false
      const unit = job.places.units.get(cells[unitAt] ?? '')
      const group = unit?.groups.get(cells[groupAt] ?? '')
      const weight = weight_lb.type.parse(cells[weightAt] ?? '')
      if (
        unit === undefined ||
        unit.id === faulty ||
        group === undefined ||
        group.id === faulty ||
        weight === undefined
      )
        return false
      const before = latest
      const isSame = before !== undefined && sharedAt.every((position) => cells[position] === before.cells[position])
      const ticket: Kept | undefined = isSame ? { outcome: 'same', id: before.id } : otherTicket(cells, line)
      if (ticket === undefined || ticket.outcome === 'incomplete') return false
      batch.push({ values: [ticket.id, unit.id, group.id, weight], line, ticket })
      if (batch.length === rowsPerStatement) flush()
      return true
    }
  }
  let quick: ((cells: readonly string[], line: number) => boolean) | undefined
  return {
    quick: (cells, line, reader) => {
      quick ??= shortWay(reader)
      if (quick(cells, line)) return true
      // What is wrong is told in the order of the rows, also by the reader.
      flush()
      offered = cells
      return false
    },
    end: flush,
    take: (row, line, lastRound) => {
      flush()
      let sound = true
      const pair = pairIn(row)
      const scaleId = job.places.scales.get(row.scale)
      if (scaleId === undefined) say.unknown(line, 'scale', row.scale, word('scale'), 'scales.csv')
      if (row.group !== null && row.weight_lb === null) {
        const accepted = phrase('the weight of the group, or no group for a ticket that only names the unit')
        say.say(
          line,
          'weight_lb',
          '',
          accepted,
          phrase('the group has no weight; {accepted}, is accepted.', { accepted }),
        )
        sound = false
      }
      if (row.group === null && row.weight_lb !== null) {
        const accepted = phrase('the group that was weighed')
        say.say(line, 'group', '', accepted, phrase('the weight has no group; {accepted} is needed.', { accepted }))
        sound = false
      }
      const place = findPlace(job, say, pair ? { unit: row.unit } : row, line)
      if (!sound || scaleId === undefined || scaleId === faulty || !place) {
        spoil(row.scale, row.ticket)
        return undefined
      }
      const ticket = keepTicket(row, scaleId, line)
      if (ticket.outcome === 'incomplete') {
        if (!lastRound) return 'later'
        say.missing(line, 'weighed_at')
        spoil(row.scale, row.ticket)
        return undefined
      }
      if (pair === undefined && together && place.group && job.ledger.isWeighedTogether(ticket.id, place.group.id)) {
        weighedTwice(row, line)
        return undefined
      }
      const weight = pair
        ? keepTogether(row, pair, ticket.id, line)
        : job.ledger.ticketWeights.keep([ticket.id, place.unit.id, place.group?.id ?? null], [row.weight_lb], line)
      if (weight === undefined) return undefined
      if (ticket.outcome === 'contradicts') say.contradicts(line, row, ticket.differences)
      if (weight.outcome === 'contradicts') say.contradicts(line, row, weight.differences)
      if (ticket.outcome !== 'contradicts' && weight.outcome !== 'contradicts') count(counts, ticket, weight)
      return undefined
    },
    spoil: (row) => spoil(row.scale, row.ticket),
  }
}

const rowsPerBatch = 1024
/** No reading has so many circuits; a file that says so is kept in parts. */
const rowsPerReading = 10_000
/** Names of faulty readings that are remembered; beyond that the problems are too many anyway. */
const manyFaulty = 100_000

const { reading: name, taken_at, psi, elevation_ft, temperature_f, lift, driver, lane } = folderFiles.readings.columns

/** The cells of a row that names a unit alone: filled all three, or none of them. */
const ofPressure = ['group', 'circuit', 'psi'] as const

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
    // Keeping writes the readings' ids over their places.
    const readingOf = kept.pressures.filter((_, index) => index % pressureWidth === 0)
    const { added, completed, same, contradictions } = ledger.readingBatches.keep(kept)
    counts.added += added
    counts.completed += completed
    counts.same += same
    for (const { pressure, differences } of contradictions) {
      const first = at(readingOf, pressure) * readingWidth
      const [
        ,
        takenAt = null,
        ticketId = null,
        elevationFt = null,
        temperatureF = null,
        liftState = null,
        drivenBy = null,
        loadedAt = null,
      ] = kept.readings.slice(first, first + readingWidth)
      const said = {
        taken_at: takenAt,
        elevation_ft: elevationFt,
        temperature_f: temperatureF,
        lift: liftState,
        driver: drivenBy,
        lane: loadedAt,
        psi: at(kept.pressures, pressure * pressureWidth + 2),
        ticket: typeof ticketId === 'number' ? ledger.ticketName(ticketId) : null,
      }
      say.contradicts(
        at(kept.pressureLines, pressure),
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

  /** Keeps a row that names a unit without a pressure. */
  const keepUnit = (row: FolderRow<'readings'>, ticketId: number | null, unitId: number, line: number) => {
    const { taken_at: takenAt, elevation_ft: elevationFt, temperature_f: temperatureF, lift: liftState } = row
    const reading = ledger.readings.keep(
      [row.reading],
      [takenAt, ticketId, elevationFt, temperatureF, liftState, row.driver, row.lane],
      line,
    )
    if (reading.outcome === 'incomplete') throw new RangeError(`reading ${row.reading} has no time`)
    if (reading.outcome === 'contradicts')
      say.contradicts(line, row, reading.differences, { ticket_id: 'ticket' }, ({ column, stored }) =>
        column === 'ticket_id' ? ledger.ticketName(Number(stored)) : undefined,
      )
    else count(counts, reading, ledger.standIn(reading.id, unitId))
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
      driverAt = -1,
      laneAt = -1,
    ] = positions
    const sharedAt = [nameAt, timeAt, scaleAt, ticketAt, elevationAt, temperatureAt, liftAt, driverAt, laneAt].filter(
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
        const drivenBy = optionalCell((cells[driverAt] ?? '').trim(), driver.type.parse)
        const loadedAt = optionalCell((cells[laneAt] ?? '').trim(), lane.type.parse)
        if (text === '' || text.trim() !== text || name.type.parse(text) === undefined || takenAt === undefined)
          return false
        if (
          ticketId === undefined ||
          elevationFt === undefined ||
          temperatureF === undefined ||
          liftState === undefined ||
          drivenBy === undefined ||
          loadedAt === undefined
        )
          return false
        startReading(line, [text, takenAt, ticketId, elevationFt, temperatureF, liftState, drivenBy, loadedAt])
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
          phrase('the scale of the ticket'),
          phrase('the ticket has no scale; the scale of the ticket is needed.'),
        )
        sound = false
      } else if (row.scale !== null && row.ticket === null) {
        say.say(
          line,
          'ticket',
          '',
          phrase('the number of the ticket, or no scale'),
          phrase('the scale has no ticket; the number of the ticket is needed, or no scale.'),
        )
        sound = false
      } else if (row.scale !== null && row.ticket !== null) ticketId = findTicket(job, say, row.scale, row.ticket, line)
      const empty = ofPressure.filter((column) => row[column] === null)
      const standsAlone = empty.length === ofPressure.length
      if (empty.length > 0 && !standsAlone) {
        for (const column of empty) {
          const { accepted } = folderFiles.readings.columns[column].type
          say.say(line, column, '', accepted, phrase('the cell is empty; {accepted} is needed.', { accepted }))
        }
        sound = false
      }
      if (!sound || !place || ticketId === undefined || (place.circuitId === undefined && !standsAlone)) {
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
      if (place.circuitId === undefined || row.psi === null) {
        flush()
        keepUnit(row, ticketId, place.unit.id, line)
        return undefined
      }
      // A reading without its time goes alone: only what is stored already can have none.
      startReading(line, [
        row.reading,
        row.taken_at,
        ticketId,
        row.elevation_ft,
        row.temperature_f,
        row.lift,
        row.driver,
        row.lane,
      ])
      addPressure(line, place.circuitId, row.psi)
      if (row.taken_at === null) flush()
      return undefined
    },
    spoil: (row) => spoil(row.reading),
    end: flush,
  }
}

const appendOnly = () => phrase('a calibration is never edited, only voided in the app')

/** More than the points of a unit's groups name. */
const mostRecent = 1000

/**
 * Remembers what was found a moment ago, by the names it was asked for with. What is not there is looked for again.
 */
function recently<V>(find: (...names: readonly string[]) => V | undefined): typeof find {
  const found = new Map<string, V>()
  return (...names) => {
    const key = names.join('\n')
    const before = found.get(key)
    if (before !== undefined) return before
    const value = find(...names)
    if (found.size >= mostRecent) found.clear()
    if (value !== undefined) found.set(key, value)
    return value
  }
}

/** Taker of calibrations: points are staged, then compared and kept as whole sets. */
export const takeCalibrations: TakerOf<'calibrations'> = (job, counts) => {
  const say = complaints(job, 'calibrations')
  const { calibrationStage: stage, ...ledger } = job.ledger
  // The groups of a unit are calibrated side by side, by the same few tickets and readings.
  const tickets = recently((scale = '', number = '') => {
    const scaleId = job.places.scales.get(scale)
    const id = scaleId === undefined || scaleId === faulty ? undefined : ledger.tickets.find([scaleId, number])
    return id === undefined ? undefined : { id, groups: ledger.groupsOfTicket(id) }
  })
  const readings = recently((name = '') => {
    const id = ledger.readings.find([name])
    return id === undefined ? undefined : { id, groups: ledger.groupsOfReading(id) }
  })
  return {
    take: (row, line) => {
      const place = findPlace(job, say, { unit: row.unit, group: row.group }, line)
      const ticket = tickets(row.scale, row.ticket)
      if (!ticket) findTicket(job, say, row.scale, row.ticket, line)
      const reading = readings(row.reading)
      if (!reading && !job.faultyReadings.has(row.reading))
        say.unknown(line, 'reading', row.reading, word('reading'), 'readings.csv')
      if (!place?.group || !ticket || !reading) return undefined
      const groupId = place.group.id
      let sound = true
      if (!job.incompleteEvidence && !ticket.groups.has(groupId)) {
        const accepted = phrase('a ticket with the weight of unit {unit}, group {group}', {
          unit: row.unit,
          group: row.group,
        })
        say.say(
          line,
          'ticket',
          row.ticket,
          accepted,
          phrase("ticket {ticket} of {scale} does not carry this group's weight; {accepted} is needed.", {
            ticket: row.ticket,
            scale: row.scale,
            accepted,
          }),
        )
        sound = false
      }
      if (!job.incompleteEvidence && !reading.groups.has(groupId)) {
        const accepted = phrase('a reading with a pressure on unit {unit}, group {group}', {
          unit: row.unit,
          group: row.group,
        })
        say.say(
          line,
          'reading',
          row.reading,
          accepted,
          phrase("reading {reading} has no pressure of this group's circuits; {accepted} is needed.", {
            reading: row.reading,
            accepted,
          }),
        )
        sound = false
      }
      if (!sound) return undefined
      const clash = stage.add({
        groupId,
        calibratedAt: row.calibrated_at,
        by: row.by,
        ticketId: ticket.id,
        readingId: reading.id,
        line,
      })
      if (clash) say.contradicts(line, row, [{ column: 'by', stored: clash.otherBy, line: clash.otherLine }])
      return undefined
    },
    end: () => {
      const { names, storedNames, newPoints, missingPoints } = stage.object()
      for (const { line, by, otherBy, otherLine } of names) {
        say.say(
          line,
          'by',
          by,
          otherBy,
          phrase('"{by}" contradicts "{otherBy}", which is said in line {otherLine} of the same calibration.', {
            by,
            otherBy,
            otherLine,
          }),
        )
      }
      for (const { line, by, storedBy } of storedNames) {
        const known =
          storedBy === null
            ? phrase('the stored calibration, which names nobody')
            : phrase('"{storedBy}", which is recorded already', { storedBy })
        say.say(
          line,
          'by',
          by,
          storedBy ?? phrase('an empty cell'),
          phrase('"{by}" contradicts {known}; {rule}.', { by, known, rule: appendOnly() }),
        )
      }
      for (const { line, ticket } of newPoints) {
        say.say(
          line,
          'ticket',
          ticket,
          phrase('the points that are stored'),
          phrase(
            'the stored calibration of this group and time has no point with ticket "{ticket}" and this reading; {rule}.',
            { ticket, rule: appendOnly() },
          ),
        )
      }
      // Rows left out as faulty would be missed here, though they are only waiting to be put right.
      if (job.problems.problems.length === 0) {
        for (const { line, calibratedAt, missing } of missingPoints) {
          const more = phrase('{missing, plural, one {# point more} other {# points more}}', { missing })
          say.say(
            line,
            'calibrated_at',
            calibratedAt,
            phrase('all points that are stored'),
            phrase('the stored calibration of this group and time has {more}; {rule}.', { more, rule: appendOnly() }),
          )
        }
      }
      if (job.problems.problems.length > 0) return
      const { added, voided } = stage.keep()
      counts.added = added
      counts.same = counts.read - added
      for (const { line } of voided.slice(0, 20))
        job.note(`calibrations.csv line ${line}: this calibration was voided here and stays so.`)
      if (voided.length > 20)
        job.note(`calibrations.csv: ${voided.length - 20} more calibrations were voided here and stay so.`)
    },
  }
}
