import {
  type Complaints,
  complaints,
  count,
  findPlace,
  type ImportJob,
  type TakerOf,
} from '#core/exchange/import-job.ts'
import { faulty } from '#core/exchange/places.ts'

/** Takers of the files about sensors: the sensors, where they sat, their cells; and of the events of the fleet. */

export const takeSensors: TakerOf<'sensors'> = (job, counts) => {
  const say = complaints(job, 'sensors')
  const { sensors } = job.places
  const spoil = (serial: string) => {
    if (!sensors.has(serial)) sensors.set(serial, faulty)
  }
  return {
    take: (row, line, lastRound) => {
      const kept = job.ledger.sensors.keep(
        [row.serial],
        [row.reference, row.range_psi, row.resolution_psi, row.accuracy_psi, row.cell, row.report_every_s],
        line,
      )
      if (kept.outcome === 'incomplete') {
        if (!lastRound) return 'later'
        say.missing(line, 'reference')
        spoil(row.serial)
        return undefined
      }
      sensors.set(row.serial, kept.id)
      if (kept.outcome === 'contradicts') say.contradicts(line, row, kept.differences)
      else count(counts, kept)
      return undefined
    },
    spoil: (row) => spoil(row.serial),
  }
}

function findSensor({ places }: ImportJob, say: Complaints, serial: string, line: number): number | undefined {
  const id = places.sensors.get(serial)
  if (id === undefined) say.unknown(line, 'serial', serial, 'sensor', 'sensors.csv')
  return id === faulty ? undefined : id
}

export const takeMounts: TakerOf<'mounts'> = (job, counts) => {
  const say = complaints(job, 'mounts')
  return {
    take: (row, line) => {
      const sensorId = findSensor(job, say, row.serial, line)
      const place = findPlace(job, say, row, line)
      if (row.removed_at !== null && row.removed_at < row.mounted_at) {
        const accepted = 'a time not before mounted_at, or an empty cell while the sensor is still there'
        say.say(
          line,
          'removed_at',
          row.removed_at,
          accepted,
          `the sensor was removed before it was mounted; ${accepted}, is accepted.`,
        )
        return undefined
      }
      if (sensorId === undefined || place?.circuitId === undefined) return undefined
      const kept = job.ledger.mounts.keep([sensorId, place.circuitId, row.mounted_at], [row.removed_at], line)
      if (kept.outcome === 'contradicts') say.contradicts(line, row, kept.differences)
      else count(counts, kept)
      return undefined
    },
  }
}

export const takeBatteryChanges: TakerOf<'batteryChanges'> = (job, counts) => {
  const say = complaints(job, 'batteryChanges')
  return {
    take: (row, line) => {
      const sensorId = findSensor(job, say, row.serial, line)
      if (sensorId === undefined) return undefined
      const kept = job.ledger.batteryChanges.keep([sensorId, row.changed_at], [row.reason, row.cell], line)
      if (kept.outcome === 'contradicts') say.contradicts(line, row, kept.differences)
      else count(counts, kept)
      return undefined
    },
  }
}

export const takeEvents: TakerOf<'events'> = (job, counts) => {
  const say = complaints(job, 'events')
  return {
    take: (row, line) => {
      if (row.circuit !== null && row.group === null) {
        const accepted = 'the group of the circuit'
        say.say(line, 'group', '', accepted, `a circuit is named without its group; ${accepted} is needed.`)
        return undefined
      }
      const place = findPlace(job, say, row, line)
      if (!place) return undefined
      const kept = job.ledger.events.keep(
        [place.unit.id, place.group?.id ?? null, place.circuitId ?? null, row.happened_at, row.event],
        [row.note],
        line,
      )
      if (kept.outcome === 'contradicts') say.contradicts(line, row, kept.differences)
      else count(counts, kept)
      return undefined
    },
  }
}
