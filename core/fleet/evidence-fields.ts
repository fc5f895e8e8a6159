import { measuredField, type RecordFields } from '#core/fleet/record-fields.ts'
import { ranges } from '#core/fleet/range.ts'
import { liftStates } from '#core/fleet/vocabulary.ts'

/** What tells of weights and pressures, and may be corrected with a reason. */
export const evidenceKinds = ['ticket', 'reading'] as const
export type EvidenceKind = (typeof evidenceKinds)[number]

/**
 * The column of a group's weight on a ticket, of a circuit's pressure in a reading: `T-101 drive_lb`, `T-101 drive
 * main_psi`.
 */
export const partColumn = {
  ticket: (place: string) => `${place}_lb`,
  reading: (place: string) => `${place}_psi`,
} as const satisfies Record<EvidenceKind, (place: string) => string>

/**
 * The fields of a ticket or reading as one form: its own columns, then a field for each group or circuit, by the place
 * that people call it. `scales`: the names to choose from.
 */
export function evidenceFields(kind: EvidenceKind, places: readonly string[], scales: readonly string[]): RecordFields {
  if (kind === 'ticket') {
    return {
      scale: { type: 'word', label: 'Scale', words: scales, needed: true },
      number: { type: 'line', label: 'Ticket number', needed: true },
      weighed_at: { type: 'moment', label: 'Weighed at', needed: true },
      gross_lb: measuredField('Gross', ranges.grossLb, 'weight'),
      ...Object.fromEntries(
        places.map((place) => [partColumn.ticket(place), measuredField(place, ranges.weightLb, 'weight')]),
      ),
      note: { type: 'prose', label: 'Note' },
    }
  }
  return {
    taken_at: { type: 'moment', label: 'Taken at', needed: true },
    lift: { type: 'word', label: 'Lift axles', words: liftStates },
    elevation_ft: measuredField('Elevation', ranges.elevationFt, 'elevation'),
    temperature_f: measuredField('Temperature', ranges.temperatureF, 'temperature'),
    ...Object.fromEntries(
      places.map((place) => [partColumn.reading(place), measuredField(place, ranges.psi, 'pressure')]),
    ),
    note: { type: 'prose', label: 'Note' },
  }
}
