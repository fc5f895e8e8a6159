import type { LogEntry } from '#core/contracts/log.ts'
import type { LoggedChange } from '#core/store/change-log.ts'
import type { StoredValue } from '#core/words/change.ts'
import type { Say } from '#core/words/say.ts'
import { type Said, canSay, sayFinding } from '#core/words/sentences/findings.ts'

/** A value as one cell: what is made of parts stays as JSON. */
const asCell = (value: unknown): StoredValue =>
  value === undefined || value === null
    ? null
    : typeof value === 'string' || typeof value === 'number'
      ? value
      : JSON.stringify(value)

const isParts = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value)

/** The values of a change side by side; a value without parts has the name ''. */
export function fieldsOf(oldText: string | null, newText: string | null): LogEntry['fields'] {
  const [old, now] = [oldText, newText].map((text): unknown => (text === null ? undefined : JSON.parse(text)))
  if (old === undefined && now === undefined) return []
  if (!isParts(old ?? now) && !isParts(now)) return [{ name: '', old: asCell(old), new: asCell(now) }]
  const [before, after] = [old, now].map((value) => (isParts(value) ? value : {})) as [
    Record<string, unknown>,
    Record<string, unknown>,
  ]
  return (
    [...new Set([...Object.keys(before), ...Object.keys(after)])]
      .map((name) => ({ name, old: asCell(before[name]), new: asCell(after[name]) }))
      // Ids of rows tell a person nothing: the key and the unit say where a record belongs. A yard's is changed by
      // hand.
      .filter(({ name, old: from, new: to }) => from !== to && (name === 'yard_id' || !name.endsWith('_id')))
  )
}

/**
 * The sentence of a finding that was set aside, in the measures in use; as it stood then where this version has no such
 * sentence any more.
 */
export function messageSetAside(oldText: string | null, say: Say): string {
  const { message = '', said } = JSON.parse(oldText ?? '{}') as { message?: string; said?: Said }
  return said && canSay(said) ? sayFinding(said, say).message : message
}

/** `yards`: names by id, for changes that tell of one. */
export function viewChange(row: LoggedChange, say: Say, yards: ReadonlyMap<number, string> = new Map()): LogEntry {
  const {
    id,
    changed_at,
    changed_by,
    unit,
    subject,
    subject_key,
    action,
    old_value,
    new_value,
    reason,
    revision,
    undoes,
  } = row
  const named = (value: StoredValue): StoredValue =>
    typeof value === 'number' ? (yards.get(value) ?? `yard ${value}`) : value
  return {
    id,
    at: changed_at,
    by: changed_by,
    unit,
    subject,
    key: subject_key,
    action,
    fields: fieldsOf(
      subject === 'finding' ? JSON.stringify({ message: messageSetAside(old_value, say) }) : old_value,
      new_value,
    ).map((field) =>
      field.name === 'yard_id' ? { name: 'yard', old: named(field.old), new: named(field.new) } : field,
    ),
    reason,
    revision,
    undoes,
  }
}
