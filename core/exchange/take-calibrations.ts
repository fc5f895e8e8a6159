import { complaints, findPlace, type TakerOf } from '#core/exchange/import-job.ts'
import { findTicket } from '#core/exchange/take-tickets.ts'

const appendOnly = 'a calibration is never edited, only voided in the app'

/** Taker of calibrations: points are staged, then compared and kept as whole sets. */
export const takeCalibrations: TakerOf<'calibrations'> = (job, counts) => {
  const say = complaints(job, 'calibrations')
  const { calibrationStage: stage, ...ledger } = job.ledger
  return {
    take: (row, line) => {
      const place = findPlace(job, say, { unit: row.unit, group: row.group }, line)
      const ticketId = findTicket(job, say, row.scale, row.ticket, line)
      const readingId = ledger.readings.find([row.reading])
      if (readingId === undefined && !job.faultyReadings.has(row.reading))
        say.unknown(line, 'reading', row.reading, 'reading', 'readings.csv')
      if (!place?.group || ticketId === undefined || readingId === undefined) return undefined
      const groupId = place.group.id
      let sound = true
      if (!job.incompleteEvidence && !ledger.ticketHasWeight(ticketId, place.unit.id, groupId)) {
        const accepted = `a ticket with the weight of unit ${row.unit}, group ${row.group}`
        say.say(
          line,
          'ticket',
          row.ticket,
          accepted,
          `ticket ${row.ticket} of ${row.scale} does not carry this group's weight; ${accepted} is needed.`,
        )
        sound = false
      }
      if (!job.incompleteEvidence && !ledger.readingHasPressure(readingId, groupId)) {
        const accepted = `a reading with a pressure on unit ${row.unit}, group ${row.group}`
        say.say(
          line,
          'reading',
          row.reading,
          accepted,
          `reading ${row.reading} has no pressure of this group's circuits; ${accepted} is needed.`,
        )
        sound = false
      }
      if (!sound) return undefined
      const clash = stage.add({ groupId, calibratedAt: row.calibrated_at, by: row.by, ticketId, readingId, line })
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
          `"${by}" contradicts "${otherBy}", which is said in line ${otherLine} of the same calibration.`,
        )
      }
      for (const { line, by, storedBy } of storedNames) {
        const known =
          storedBy === null ? 'the stored calibration, which names nobody' : `"${storedBy}", which is recorded already`
        say.say(line, 'by', by, storedBy ?? 'an empty cell', `"${by}" contradicts ${known}; ${appendOnly}.`)
      }
      for (const { line, ticket } of newPoints) {
        say.say(
          line,
          'ticket',
          ticket,
          'the points that are stored',
          `the stored calibration of this group and time has no point with ticket "${ticket}" and this reading; ${appendOnly}.`,
        )
      }
      // Rows left out as faulty would be missed here, though they are only waiting to be put right.
      if (job.problems.problems.length === 0) {
        for (const { line, calibratedAt, missing } of missingPoints) {
          const more = missing === 1 ? '1 point more' : `${missing} points more`
          say.say(
            line,
            'calibrated_at',
            calibratedAt,
            'all points that are stored',
            `the stored calibration of this group and time has ${more}; ${appendOnly}.`,
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
