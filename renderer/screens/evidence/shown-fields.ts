import type { EvidenceView } from '#core/contracts/evidence.ts'
import { type RecordFields, evidenceFields } from '#core/words/record-fields.ts'

/** The fields of a ticket or reading that there is a value of: a driver's name may be kept off screens. */
export const shownFields = ({ kind, places, scales, values }: EvidenceView): RecordFields =>
  Object.fromEntries(
    Object.entries(evidenceFields(kind, places, scales)).filter(([column]) => Object.hasOwn(values, column)),
  )
