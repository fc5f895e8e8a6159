import { recordChanges } from '#core/store/change-log.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import {
  type HouseRuleName,
  type HouseRules,
  defaultHouseRules,
  houseRuleDefinitions,
  houseRuleNames,
} from '#core/words/house-rules.ts'
import { ConflictError } from '#core/words/problem.ts'

const known = new Set<string>(houseRuleNames)

/** The fleet's own rules over the defaults; a rule that this version does not know stays stored and unread. */
export async function readHouseRules(db: Reader): Promise<HouseRules> {
  const rows = await db.selectFrom('house_rule').select(['name', 'value']).execute()
  const own = rows.filter(({ name }) => known.has(name)).map(({ name, value }) => [name as HouseRuleName, value])
  return { ...defaultHouseRules, ...Object.fromEntries(own) }
}

/**
 * Sets one rule and takes the change down. was: the value that the person saw. Errors: ConflictError where another
 * value is stored by now.
 */
export async function changeHouseRule(
  db: Writer,
  { name, was, value }: { readonly name: HouseRuleName; readonly was: number; readonly value: number },
  by: string,
  at: string,
): Promise<void> {
  const old = (await readHouseRules(db))[name]
  if (old === value) return
  if (old !== was) {
    const last = await db
      .selectFrom('change_log')
      .select(['changed_by', 'changed_at'])
      .where('subject', '=', 'house rule')
      .where('subject_key', '=', name)
      .orderBy('id', 'desc')
      .executeTakeFirst()
    throw new ConflictError(
      houseRuleDefinitions[name].label,
      [{ field: name, was, stored: old, typed: value }],
      last && { by: last.changed_by, at: last.changed_at },
    )
  }
  await db
    .insertInto('house_rule')
    .values({ name, value })
    .onConflict((conflict) => conflict.column('name').doUpdateSet({ value }))
    .execute()
  await recordChanges(db, { by, at }, [
    { unitId: null, subject: 'house rule', key: name, action: 'changed', old, new: value },
  ])
}
