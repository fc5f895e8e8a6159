import type { EvidenceView } from '#core/contracts/evidence.ts'
import { type RecordFields, evidenceFields } from '#core/words/record-fields.ts'

/** The fields of a ticket or reading that there is a value of: a driver's name may be kept off screens. */
export function shownFields({ kind, places, pairs, scales, values }: EvidenceView): RecordFields {
  const together = pairs.map(({ place }) => place)
  const fields = Object.entries(evidenceFields(kind, places, scales, together))
  return Object.fromEntries(fields.filter(([column]) => Object.hasOwn(values, column)))
}
