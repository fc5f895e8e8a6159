import { recordChanges } from '#core/store/change-log.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import { readZone } from '#core/store/zone.ts'
import type { StoredValue } from '#core/words/change.ts'
import {
  type HouseRuleName,
  type HouseRules,
  defaultHouseRules,
  houseRuleDefinitions,
  houseRuleNames,
  zoneLabel,
} from '#core/words/house-rules.ts'
import { type MeasureSet, measuresOfRule } from '#core/words/measures.ts'
import { ConflictError } from '#core/words/problem.ts'

const known = new Set<string>(houseRuleNames)

/** The fleet's own rules over the defaults; a rule that this version does not know stays stored and unread. */
export async function readHouseRules(db: Reader): Promise<HouseRules> {
  const rows = await db.selectFrom('house_rule').select(['name', 'value']).execute()
  const own = rows.filter(({ name }) => known.has(name)).map(({ name, value }) => [name as HouseRuleName, value])
  return { ...defaultHouseRules, ...Object.fromEntries(own), zone: await readZone(db) }
}

/** The measures in which the fleet reads what is stored in lb, psi and ft. */
export const readMeasures = async (db: Reader): Promise<MeasureSet> =>
  measuresOfRule((await readHouseRules(db)).measures)

async function refuseRule(
  db: Reader,
  name: HouseRuleName | 'zone',
  label: string,
  seen: { readonly was: StoredValue; readonly stored: StoredValue; readonly typed: StoredValue },
): Promise<never> {
  const last = await db
    .selectFrom('change_log')
    .select(['changed_by', 'changed_at'])
    .where('subject', '=', 'house rule')
    .where('subject_key', '=', name)
    .orderBy('id', 'desc')
    .executeTakeFirst()
  throw new ConflictError(label, [{ field: name, ...seen }], last && { by: last.changed_by, at: last.changed_at })
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
  if (old !== was) await refuseRule(db, name, houseRuleDefinitions[name].label, { was, stored: old, typed: value })
  await db
    .insertInto('house_rule')
    .values({ name, value })
    .onConflict((conflict) => conflict.column('name').doUpdateSet({ value }))
    .execute()
  await recordChanges(db, { by, at }, [
    { unitId: null, subject: 'house rule', key: name, action: 'changed', old, new: value },
  ])
}

/**
 * The same for the zone, a name that `isZone` knows. Every day of the fleet may move: it is judged and weighed anew.
 */
export async function changeZone(
  db: Writer,
  { was, zone }: { readonly was: string; readonly zone: string },
  by: string,
  at: string,
): Promise<void> {
  const old = await readZone(db)
  if (old === zone) return
  if (old !== was) await refuseRule(db, 'zone', zoneLabel(), { was, stored: old, typed: zone })
  await db.updateTable('house_setting').set({ value: zone }).where('name', '=', 'zone').execute()
  await recordChanges(db, { by, at }, [
    { unitId: null, subject: 'house rule', key: 'zone', action: 'changed', old, new: zone },
  ])
}
