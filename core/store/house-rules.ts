import { defaultHouseRules, houseRuleNames, type HouseRuleName, type HouseRules } from '#core/fleet/house-rules.ts'
import type { Reader, Writer } from '#core/store/open.ts'

const known = new Set<string>(houseRuleNames)

/** The fleet's own rules over the defaults; a rule that this version does not know stays stored and unread. */
export async function readHouseRules(db: Reader): Promise<HouseRules> {
  const rows = await db.selectFrom('house_rule').select(['name', 'value']).execute()
  const own = rows.filter(({ name }) => known.has(name)).map(({ name, value }) => [name as HouseRuleName, value])
  return { ...defaultHouseRules, ...Object.fromEntries(own) }
}

/** Sets one rule and takes the change down. */
export async function changeHouseRule(db: Writer, name: HouseRuleName, value: number, by: string, at: string): Promise<void> {
  const old = (await readHouseRules(db))[name]
  if (old === value) return
  await db.insertInto('house_rule').values({ name, value }).onConflict((conflict) => conflict.column('name').doUpdateSet({ value })).execute()
  await db.insertInto('change_log').values({
    changed_at: at, changed_by: by, unit_id: null, subject: 'house rule', subject_key: name, action: 'changed',
    old_value: JSON.stringify(old), new_value: JSON.stringify(value), reason: null,
  }).execute()
  await db.updateTable('ledger').set(({ eb }) => ({ revision: eb('revision', '+', 1) })).execute()
}
