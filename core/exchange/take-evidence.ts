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
import { LineCells, foundByCells } from '#core/exchange/line-cells.ts'
import { faulty } from '#core/exchange/places.ts'
import { inOneOrder, pairOf } from '#core/evidence/one-platform.ts'
import type { RowReader } from '#core/exchange/row-reader.ts'
import type { Kept, Stored } from '#core/store/kept-table.ts'
import { type StagedPoint, stagedWidth } from '#core/store/calibration-stage.ts'
import { rowsPerStatement } from '#core/store/many-rows.ts'
import { emptyBatch, pressureWidth, readingWidth } from '#core/store/reading-batch.ts'
import { emptyTickets, ticketWidth, weightWidth } from '#core/store/ticket-batch.ts'
import { at } from '#core/words/lists.ts'
import { nameKey } from '#core/words/names.ts'

const { ticket: ticketNumber, weighed_at, weight_lb, gross_lb } = folderFiles.tickets.columns

/** The values of an optional column: null where it or the cell is empty, undefined where that is not accepted. */
const optionalOf = <T extends string | number>(
  position: number,
  parse: (text: string) => T | undefined,
): ((cells: LineCells) => T | null | undefined) =>
  position < 0
    ? () => null
    : foundByCells([position], (cell = '') => {
        const text = cell.trim()
        return text === '' ? null : parse(text)
      })

/** An id of what is there and is not named by a faulty row. */
const known = (id: number | undefined): number | undefined => (id === faulty ? undefined : id)

/** Rows that are kept at a time. */
const rowsPerBatch = 1024
/** No reading has so many circuits, no ticket so many groups; a file that says so is kept in parts. */
const rowsOfOne = 10_000

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
      }
    | undefined
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
    latest = kept.outcome === 'incomplete' || kept.outcome === 'contradicts' ? undefined : { row, id: kept.id }
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
  let batch = emptyTickets()
  /** Whether the next plain row begins a ticket in any case. */
  let begins = true
  const flush = () => {
    const kept = batch
    batch = emptyTickets()
    begins = true
    if (kept.weightLines.length === 0) return
    latest = undefined
    const ticketOf = kept.weights.filter((_, index) => index % weightWidth === 0)
    const { added, fates } = job.ledger.ticketBatches.keep(kept)
    counts.added += added
    for (const { row, ticket, weight } of fates) {
      const line = at(kept.weightLines, row)
      if (ticket.outcome === 'contradicts') {
        const first = at(ticketOf, row) * ticketWidth
        const [, , weighedAt = null, grossLb = null, drivenBy = null, loadedAt = null] = kept.tickets.slice(
          first,
          first + ticketWidth,
        )
        const said = { weighed_at: weighedAt, gross_lb: grossLb, driver: drivenBy, lane: loadedAt }
        say.contradicts(line, said, ticket.differences)
      }
      if (weight.outcome === 'contradicts')
        say.contradicts(line, { weight_lb: at(kept.weights, row * weightWidth + 3) }, weight.differences)
      if (ticket.outcome !== 'contradicts' && weight.outcome !== 'contradicts') count(counts, ticket, weight)
    }
  }
  /**
   * Reads plain rows by where the header has its columns: of a ticket's rows mostly the group's weight alone is new.
   */
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
    const first = new LineCells(width)
    const { units, scales } = job.places
    /** Ids of the units of groups that were named, by the group's. */
    const unitOf: number[] = []
    const groupOf = foundByCells([unitAt, groupAt], (name = '', group = '') => {
      const unit = units.get(name)
      const id = known(unit?.groups.get(group)?.id)
      if (unit !== undefined && id !== undefined) unitOf[id] = unit.id
      return id
    })
    const weightOf = foundByCells([weightAt], (weight = '') => weight_lb.type.parse(weight))
    const scaleOf = foundByCells([scaleAt], (scale = '') => known(scales.get(scale)))
    const grossOf = optionalOf(grossAt, gross_lb.type.parse)
    const driverOf = optionalOf(driverAt, driver.type.parse)
    const laneOf = optionalOf(laneAt, lane.type.parse)
    /** Begins the ticket of a row; false where it is not plain. */
    const begin = (cells: LineCells, line: number): boolean => {
      const scaleId = scaleOf(cells)
      const number = cells.textOf(numberAt)
      const weighedAt = weighed_at.type.parse(cells.textOf(timeAt))
      const grossLb = grossOf(cells)
      const drivenBy = driverOf(cells)
      const loadedAt = laneOf(cells)
      if (
        scaleId === undefined ||
        nameKey(number) !== number ||
        ticketNumber.type.parse(number) === undefined ||
        weighedAt === undefined ||
        grossLb === undefined ||
        drivenBy === undefined ||
        loadedAt === undefined
      )
        return false
      if (batch.weightLines.length >= rowsPerBatch) flush()
      batch.tickets.push(...job.ledger.tickets.spelt([scaleId, number]), weighedAt, grossLb, drivenBy, loadedAt)
      batch.ticketLines.push(line)
      first.become(cells)
      begins = false
      return true
    }
    return (cells: LineCells, line: number): boolean => {
      if (together) return false
      const groupId = groupOf(cells)
      const weight = weightOf(cells)
      if (groupId === undefined || weight === undefined) return false
      const isNext = begins || batch.weightLines.length >= rowsOfOne || !cells.isLike(first, sharedAt)
      if (isNext && !begin(cells, line)) return false
      batch.weights.push(batch.ticketLines.length - 1, unitOf[groupId] ?? faulty, groupId, weight)
      batch.weightLines.push(line)
      return true
    }
  }
  let quick: ((cells: LineCells, line: number) => boolean) | undefined
  return {
    quick: (cells, line, reader) => {
      quick ??= shortWay(reader)
      return quick(cells, line)
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
  /** Whether the next plain row begins a reading in any case. */
  let begins = true

  const flush = () => {
    const kept = batch
    batch = emptyBatch()
    begins = true
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
    const first = new LineCells(width)
    const circuitOf = foundByCells([unitAt, groupAt, circuitAt], (unit = '', group = '', circuit = '') =>
      known(units.get(unit)?.groups.get(group)?.circuits.get(circuit)),
    )
    const psiOf = foundByCells([psiAt], (text = '') => psi.type.parse(text))
    const scaleOf = scaleAt < 0 ? () => undefined : foundByCells([scaleAt], (scale = '') => known(scales.get(scale)))
    const elevationOf = optionalOf(elevationAt, elevation_ft.type.parse)
    const temperatureOf = optionalOf(temperatureAt, temperature_f.type.parse)
    const liftOf = optionalOf(liftAt, lift.type.parse)
    const driverOf = optionalOf(driverAt, driver.type.parse)
    const laneOf = optionalOf(laneAt, lane.type.parse)
    const ticketOf = (cells: LineCells): number | null | undefined => {
      if (cells.textOf(scaleAt) === '' && cells.textOf(ticketAt) === '') return null
      const scaleId = scaleOf(cells)
      return scaleId === undefined ? undefined : ledger.tickets.find([scaleId, cells.textOf(ticketAt)])
    }
    /** Begins the reading of a row; false where it is not plain. */
    const begin = (cells: LineCells, line: number): boolean => {
      const text = cells.textOf(nameAt)
      const takenAt = taken_at.type.parse(cells.textOf(timeAt))
      const ticketId = ticketOf(cells)
      const elevationFt = elevationOf(cells)
      const temperatureF = temperatureOf(cells)
      const liftState = liftOf(cells)
      const drivenBy = driverOf(cells)
      const loadedAt = laneOf(cells)
      if (
        text === '' ||
        text.trim() !== text ||
        name.type.parse(text) === undefined ||
        takenAt === undefined ||
        ticketId === undefined ||
        elevationFt === undefined ||
        temperatureF === undefined ||
        liftState === undefined ||
        drivenBy === undefined ||
        loadedAt === undefined
      )
        return false
      startReading(line, [text, takenAt, ticketId, elevationFt, temperatureF, liftState, drivenBy, loadedAt])
      first.become(cells)
      begins = false
      return true
    }
    return (cells: LineCells, line: number): boolean => {
      const circuitId = circuitOf(cells)
      const pressure = psiOf(cells)
      if (pressure === undefined || circuitId === undefined) return false
      const isNext = begins || batch.pressureLines.length >= rowsOfOne || !cells.isLike(first, sharedAt)
      if (isNext && !begin(cells, line)) return false
      addPressure(line, circuitId, pressure)
      return true
    }
  }
  let quick: ((cells: LineCells, line: number) => boolean) | undefined

  return {
    quick: (cells, line, reader) => {
      quick ??= shortWay(reader)
      return quick(cells, line)
    },
    take: (row, line, lastRound) => {
      begins = true
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

const { calibrated_at, by } = folderFiles.calibrations.columns

/** Taker of calibrations: points are staged, then compared and kept as whole sets. */
export const takeCalibrations: TakerOf<'calibrations'> = (job, counts) => {
  const say = complaints(job, 'calibrations')
  const { calibrationStage: stage, ...ledger } = job.ledger
  const ticketOf = (scale: string, number: string) => {
    const scaleId = known(job.places.scales.get(scale))
    const id = scaleId === undefined ? undefined : ledger.tickets.find([scaleId, number])
    return id === undefined ? undefined : { id, groups: ledger.groupsOfTicket(id) }
  }
  const readingOf = (name: string) => {
    const id = ledger.readings.find([name])
    return id === undefined ? undefined : { id, groups: ledger.groupsOfReading(id) }
  }
  /** Sound points on their way to the stage. */
  let batch: Stored[] = []
  const stagePoint = (point: StagedPoint) => {
    const clash = stage.add(point)
    if (clash)
      say.contradicts(point.line, { by: point.by }, [{ column: 'by', stored: clash.otherBy, line: clash.otherLine }])
  }
  const flush = () => {
    const points = batch
    batch = []
    if (points.length === rowsPerStatement * stagedWidth && stage.addMany(points)) return
    for (let first = 0; first < points.length; first += stagedWidth) {
      const [groupId, calibratedAt, by, ticketId, readingId, line] = points.slice(first, first + stagedWidth)
      stagePoint({
        groupId: Number(groupId),
        calibratedAt: String(calibratedAt),
        by: by === null || by === undefined ? null : String(by),
        ticketId: Number(ticketId),
        readingId: Number(readingId),
        line: Number(line),
      })
    }
  }
  /** Reads sound rows by where the header has its columns. */
  const shortWay = ({ positions }: RowReader<'calibrations'>) => {
    const [unitAt = -1, groupAt = -1, timeAt = -1, byAt = -1, scaleAt = -1, numberAt = -1, nameAt = -1] = positions
    const groupOf = foundByCells([unitAt, groupAt], (unit = '', group = '') =>
      known(job.places.units.get(unit)?.groups.get(group)?.id),
    )
    const timeOf = foundByCells([timeAt], (text = '') => calibrated_at.type.parse(text))
    const byOf = optionalOf(byAt, by.type.parse)
    // The groups of a unit are calibrated side by side, by the same few tickets and readings.
    const tickets = foundByCells([scaleAt, numberAt], (scale = '', number = '') => ticketOf(scale, number))
    const readings = foundByCells([nameAt], (text = '') => readingOf(text))
    return (cells: LineCells, line: number): boolean => {
      const groupId = groupOf(cells)
      const calibratedAt = timeOf(cells)
      const calibratedBy = byOf(cells)
      if (groupId === undefined || calibratedAt === undefined || calibratedBy === undefined) return false
      const ticket = tickets(cells)
      const reading = readings(cells)
      if (ticket === undefined || reading === undefined) return false
      if (!job.incompleteEvidence && !(ticket.groups.has(groupId) && reading.groups.has(groupId))) return false
      batch.push(groupId, calibratedAt, calibratedBy, ticket.id, reading.id, line)
      if (batch.length === rowsPerStatement * stagedWidth) flush()
      return true
    }
  }
  let quick: ((cells: LineCells, line: number) => boolean) | undefined
  return {
    quick: (cells, line, reader) => {
      quick ??= shortWay(reader)
      if (quick(cells, line)) return true
      // What is wrong is told in the order of the rows, also by the reader.
      flush()
      return false
    },
    take: (row, line) => {
      const place = findPlace(job, say, { unit: row.unit, group: row.group }, line)
      const ticket = ticketOf(row.scale, row.ticket)
      if (!ticket) findTicket(job, say, row.scale, row.ticket, line)
      const reading = readingOf(row.reading)
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
      stagePoint({
        groupId,
        calibratedAt: row.calibrated_at,
        by: row.by,
        ticketId: ticket.id,
        readingId: reading.id,
        line,
      })
      return undefined
    },
    end: () => {
      flush()
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
