import type { LogEntry } from '#core/contracts/log.ts'
import type { LoggedChange } from '#core/store/change-log.ts'
import { type LogNames, noNames } from '#core/store/log-names.ts'
import type { StoredValue } from '#core/words/change.ts'
import { partColumn } from '#core/words/record-fields.ts'
import type { Say } from '#core/words/say.ts'
import { type Said, canSay, sayFinding } from '#core/words/sentences/findings.ts'
import { phrase } from '#core/words/phrase.ts'

/** A value as one cell: what is made of parts stays as JSON. */
const asCell = (value: unknown): StoredValue =>
  value === undefined || value === null
    ? null
    : typeof value === 'string' || typeof value === 'number'
      ? value
      : JSON.stringify(value)

const isParts = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value)

/** Weights by group or pressures by circuit, as fields of their own under the names of their places. */
function placed(name: string, value: unknown, { groups, circuits }: LogNames): [string, unknown][] {
  if (!Array.isArray(value) || !value.every(isParts)) return [[name, value]]
  const fields = value.flatMap((part): [string, unknown][] => {
    const { group_id: group, circuit_id: circuit, weight_lb: weightLb, psi } = part
    if (typeof group === 'number' && weightLb !== undefined)
      return [[partColumn.ticket(groups.get(group) ?? phrase('a group that is gone')), weightLb]]
    return typeof circuit === 'number' && psi !== undefined
      ? [[partColumn.reading(circuits.get(circuit) ?? phrase('a circuit that is gone')), psi]]
      : []
  })
  return fields.length === value.length && value.length > 0 ? fields : [[name, value]]
}

const isUnused = (value: unknown): boolean => Array.isArray(value) && value.length === 0

/** The values of a change side by side; a value without parts has the name ''. */
export function fieldsOf(
  oldText: string | null,
  newText: string | null,
  names: LogNames = noNames,
): LogEntry['fields'] {
  const [old, now] = [oldText, newText].map((text): unknown => (text === null ? undefined : JSON.parse(text)))
  if (old === undefined && now === undefined) return []
  if (!isParts(old ?? now) && !isParts(now)) return [{ name: '', old: asCell(old), new: asCell(now) }]
  const [before, after] = [old, now].map((value) =>
    Object.fromEntries(
      Object.entries(isParts(value) ? value : {})
        .filter(([, each]) => !isUnused(each))
        .flatMap(([name, each]) => placed(name, each, names)),
    ),
  ) as [Record<string, unknown>, Record<string, unknown>]
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

/** What stands for a name that the House Rules keep off screens and papers. */
const kept = (value: StoredValue): StoredValue => value && phrase('not shown')

/** `names`: of what changes name by id. */
export function viewChange(row: LoggedChange, say: Say, names: LogNames = noNames): LogEntry {
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
    typeof value === 'number' ? (names.yards.get(value) ?? phrase('yard {value}', { value })) : value
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
      names,
    ).map((field) => {
      if (field.name === 'yard_id') return { name: 'yard', old: named(field.old), new: named(field.new) }
      if (field.name === 'driver' && !names.drivers) return { ...field, old: kept(field.old), new: kept(field.new) }
      return field
    }),
    reason,
    revision,
    undoes,
  }
}
