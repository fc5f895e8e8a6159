import type { SaveRecordInput } from '#core/api/fleet-contract.ts'
import { client } from '#renderer/client/api.ts'
import type { RecordToSave } from '#renderer/parts/record-form.tsx'
import { localZone } from '#renderer/parts/record-text.ts'

type More = Partial<Pick<SaveRecordInput, 'parent' | 'reason' | 'workedAt' | 'usualGroups'>>

/** Saves a form's record: a new one where it has no id yet. */
export const saveRecord = (
  subject: SaveRecordInput['subject'],
  id: number | null,
  { was, values, by }: RecordToSave,
  more: More = {},
) => client.fleet.save({ subject, id, was, values, by, localZone: localZone(), reason: null, workedAt: null, ...more })
