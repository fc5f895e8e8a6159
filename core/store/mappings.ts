import { foreignMapping, type ForeignMapping } from '#core/fleet/foreign-mapping.ts'
import type { Hand } from '#core/fleet/change.ts'
import { FieldError, TarelineError } from '#core/fleet/problem.ts'
import { recordChanges } from '#core/store/change-log.ts'
import { addRecord, editRecord, findRecord } from '#core/store/edit-record.ts'
import type { Reader, Writer } from '#core/store/open.ts'

export interface NamedMapping {
  readonly id: number
  readonly name: string
  readonly mapping: ForeignMapping
}

/** Saved mappings by name; one that a later version wrote and this one cannot read is left out. */
export async function listMappings(db: Reader): Promise<NamedMapping[]> {
  const rows = await db.selectFrom('mapping').selectAll().orderBy('name').execute()
  return rows.flatMap(({ id, name, settings }) => {
    const read = foreignMapping.safeParse(JSON.parse(settings))
    return read.success ? [{ id, name, mapping: read.data }] : []
  })
}

const place = (key: string) => ({ subject: 'mapping', key, unitId: null }) as const

/**
 * Saves a mapping under a name: a new one (id null), or in place of what it was. Errors: FieldError `taken` where
 * another has the name; TarelineError `gone`.
 */
export async function saveMapping(
  db: Writer,
  { id, name, mapping }: Omit<NamedMapping, 'id'> & { readonly id: number | null },
  hand: Hand,
): Promise<number> {
  const other = await db.selectFrom('mapping').select('id').where('name', '=', name).executeTakeFirst()
  if (other && other.id !== id)
    throw new FieldError(
      'taken',
      'name',
      `There is a mapping named ${name} already. Another name is accepted, or choose that mapping and change it.`,
    )
  const values = { name, settings: JSON.stringify(mapping) }
  if (id === null) {
    const { id: added, change } = await addRecord(db, place(name), values)
    await recordChanges(db, hand, [change], { harmless: true })
    return added
  }
  const stored = await findRecord(db, 'mapping', id)
  if (!stored)
    throw new TarelineError(
      'gone',
      `The mapping ${name} is no longer there: another window removed it. Save it as a new one.`,
    )
  const was = { name: stored['name'] ?? null, settings: stored['settings'] ?? null }
  await recordChanges(db, hand, await editRecord(db, { ...place(String(was.name)), id, was, now: values }), {
    harmless: true,
  })
  return id
}

/** Errors: TarelineError `gone`. */
export async function removeMapping(db: Writer, id: number, hand: Hand): Promise<void> {
  const gone = await db.deleteFrom('mapping').where('id', '=', id).returningAll().executeTakeFirst()
  if (!gone) throw new TarelineError('gone', 'The mapping is no longer there: another window removed it.')
  const { name, settings } = gone
  await recordChanges(db, hand, [{ ...place(name), action: 'removed', recordId: id, old: { name, settings } }], {
    harmless: true,
  })
}
