import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import {
  type Complaints,
  type ImportJob,
  type TakerOf,
  complaints,
  count,
  findPlace,
} from '#core/exchange/import-job.ts'
import { faulty } from '#core/exchange/places.ts'
import { ByName } from '#core/words/names.ts'

/** Takers of the files that say what the fleet consists of: yards, units, axle groups, circuits and scales. */

export const takeYards: TakerOf<'yards'> = (job, counts) => {
  const say = complaints(job, 'yards')
  const { yards } = job.places
  return {
    take: (row, line) => {
      const kept = job.ledger.yards.keep(
        [row.yard],
        [row.elevation_ft, row.working_days, row.holidays, row.jobs_per_day],
        line,
      )
      if (kept.outcome === 'incomplete') return undefined
      yards.set(row.yard, kept.id)
      if (kept.outcome === 'contradicts') say.contradicts(line, row, kept.differences)
      else count(counts, kept)
      return undefined
    },
    spoil: (row) => {
      if (!yards.has(row.yard)) yards.set(row.yard, faulty)
    },
  }
}

export const takeUnits: TakerOf<'units'> = (job, counts) => {
  const say = complaints(job, 'units')
  const { yards, units } = job.places
  const spoil = (unit: string) => {
    if (!units.has(unit)) units.set(unit, { id: faulty, groups: new ByName() })
  }
  return {
    take: (row, line, lastRound) => {
      const yardId = row.yard === null ? null : yards.get(row.yard)
      if (yardId === undefined) say.unknown(line, 'yard', row.yard, word('yard'), 'yards.csv')
      if (yardId === undefined || yardId === faulty) {
        spoil(row.unit)
        return undefined
      }
      const kept = job.ledger.units.keep(
        [row.unit],
        [
          row.kind,
          row.vin,
          row.plate,
          row.plate_region,
          row.make,
          row.model,
          row.model_year,
          yardId,
          row.gross_limit_lb,
          row.fifth_wheel_ft,
        ],
        line,
      )
      if (kept.outcome === 'incomplete') {
        if (!lastRound) return 'later'
        say.missing(line, kept.column)
        spoil(row.unit)
        return undefined
      }
      if (units.get(row.unit)?.id !== kept.id) units.set(row.unit, { id: kept.id, groups: new ByName() })
      if (kept.outcome === 'contradicts') {
        say.contradicts(line, row, kept.differences, { yard_id: 'yard' }, ({ column, stored }) =>
          column === 'yard_id' ? job.ledger.yardName(Number(stored)) : undefined,
        )
      } else count(counts, kept)
      return undefined
    },
    spoil: (row) => spoil(row.unit),
  }
}

export const takeAxleGroups: TakerOf<'axleGroups'> = (job, counts) => {
  const say = complaints(job, 'axleGroups')
  const spoil = (unit: string, group: string) => {
    const place = job.places.units.get(unit)
    if (place && !place.groups.has(group)) place.groups.set(group, { id: faulty, circuits: new ByName() })
  }
  return {
    take: (row, line, lastRound) => {
      const place = findPlace(job, say, { unit: row.unit }, line)
      if (!place) {
        spoil(row.unit, row.group)
        return undefined
      }
      const kept = job.ledger.axleGroups.keep(
        [place.unit.id, row.group],
        [row.role, row.axles, row.first_axle_ft, row.axle_spacing_ft, row.limit_lb, row.measured_by],
        line,
      )
      if (kept.outcome === 'incomplete') {
        if (!lastRound) return 'later'
        say.missing(line, kept.column)
        spoil(row.unit, row.group)
        return undefined
      }
      if (place.unit.groups.get(row.group)?.id !== kept.id)
        place.unit.groups.set(row.group, { id: kept.id, circuits: new ByName() })
      if (kept.outcome === 'contradicts') say.contradicts(line, row, kept.differences)
      else count(counts, kept)
      return undefined
    },
    spoil: (row) => spoil(row.unit, row.group),
  }
}

export const takeCircuits: TakerOf<'circuits'> = (job, counts) => {
  const say = complaints(job, 'circuits')
  const spoil = (unit: string, group: string, circuit: string) => {
    const place = job.places.units.get(unit)?.groups.get(group)
    if (place && !place.circuits.has(circuit)) place.circuits.set(circuit, faulty)
  }
  return {
    take: (row, line) => {
      const place = findPlace(job, say, { unit: row.unit, group: row.group }, line)
      if (!place?.group) {
        spoil(row.unit, row.group, row.circuit)
        return undefined
      }
      const kept = job.ledger.circuits.keep(
        [place.group.id, row.circuit],
        [row.air_springs, row.spring_area_in2, row.ride_height_in],
        line,
      )
      if (kept.outcome === 'incomplete') return undefined
      place.group.circuits.set(row.circuit, kept.id)
      if (kept.outcome === 'contradicts') say.contradicts(line, row, kept.differences)
      else count(counts, kept)
      return undefined
    },
    spoil: (row) => spoil(row.unit, row.group, row.circuit),
  }
}

export const takeScales: TakerOf<'scales'> = (job, counts) => {
  const say = complaints(job, 'scales')
  const { scales } = job.places
  return {
    take: (row, line) => {
      const kept = job.ledger.scales.keep([row.scale], [row.division_lb, row.elevation_ft, row.tolerance_percent], line)
      if (kept.outcome === 'incomplete') return undefined
      scales.set(row.scale, kept.id)
      if (kept.outcome === 'contradicts') say.contradicts(line, row, kept.differences)
      else count(counts, kept)
      return undefined
    },
    spoil: (row) => {
      if (!scales.has(row.scale)) scales.set(row.scale, faulty)
    },
  }
}

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
  if (id === undefined) say.unknown(line, 'serial', serial, word('sensor'), 'sensors.csv')
  return id === faulty ? undefined : id
}

export const takeMounts: TakerOf<'mounts'> = (job, counts) => {
  const say = complaints(job, 'mounts')
  return {
    take: (row, line) => {
      const sensorId = findSensor(job, say, row.serial, line)
      const place = findPlace(job, say, row, line)
      if (row.removed_at !== null && row.removed_at < row.mounted_at) {
        const accepted = phrase('a time not before mounted_at, or an empty cell while the sensor is still there')
        say.say(
          line,
          'removed_at',
          row.removed_at,
          accepted,
          phrase('the sensor was removed before it was mounted; {accepted}, is accepted.', { accepted }),
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
        const accepted = phrase('the group of the circuit')
        say.say(
          line,
          'group',
          '',
          accepted,
          phrase('a circuit is named without its group; {accepted} is needed.', { accepted }),
        )
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
