import { defaultHouseRules, houseRuleNames, type HouseRuleName, type HouseRules } from '#core/fleet/house-rules.ts'
import type { Reader } from '#core/store/open.ts'

const known = new Set<string>(houseRuleNames)

/** The fleet's own rules over the defaults; a rule that this version does not know stays stored and unread. */
export async function readHouseRules(db: Reader): Promise<HouseRules> {
  const rows = await db.selectFrom('house_rule').select(['name', 'value']).execute()
  const own = rows.filter(({ name }) => known.has(name)).map(({ name, value }) => [name as HouseRuleName, value])
  return { ...defaultHouseRules, ...Object.fromEntries(own) }
}
