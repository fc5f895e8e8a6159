import { readHouseRules } from '#core/store/house-rules.ts'
import type { Reader } from '#core/store/open.ts'
import { placedCircuits, placedGroups } from '#core/store/placed.ts'
import { namesDrivers } from '#core/words/house-rules.ts'

/** What people call the records that changes name by id: yards, axle groups and circuits with their units. */
export interface LogNames {
  readonly yards: ReadonlyMap<number, string>
  /** `T-101 drive` */
  readonly groups: ReadonlyMap<number, string>
  /** `T-101 drive main` */
  readonly circuits: ReadonlyMap<number, string>
  /** Whether the House Rules let drivers be named. */
  readonly drivers: boolean
}

export const noNames: LogNames = { yards: new Map(), groups: new Map(), circuits: new Map(), drivers: true }

/** As many values as one statement takes. */
const idsAtOnce = 20_000

function idsIn(texts: readonly (string | null)[], column: 'group_id' | 'circuit_id'): number[] {
  const ids = new Set<number>()
  for (const text of texts)
    for (const [, id] of text?.matchAll(new RegExp(`"${column}":(\\d+)`, 'g')) ?? []) ids.add(Number(id))
  return [...ids]
}

async function asked(
  ids: readonly number[],
  ask: (slice: number[]) => Promise<readonly { id: number; name: string }[]>,
): Promise<Map<number, string>> {
  const names = new Map<number, string>()
  for (let from = 0; from < ids.length; from += idsAtOnce)
    for (const { id, name } of await ask(ids.slice(from, from + idsAtOnce))) names.set(id, name)
  return names
}

/** The names of everything that some changes of the log name by id; what is gone has none. */
export async function readLogNames(
  db: Reader,
  rows: readonly { readonly old_value: string | null; readonly new_value: string | null }[],
): Promise<LogNames> {
  const texts = rows.flatMap(({ old_value, new_value }) => [old_value, new_value])
  const yards = await db.selectFrom('yard').select(['id', 'name']).execute()
  return {
    drivers: namesDrivers(await readHouseRules(db)),
    yards: new Map(yards.map(({ id, name }) => [id, name])),
    groups: await asked(idsIn(texts, 'group_id'), async (ids) =>
      (await placedGroups(db).select(['g.id', 'u.number', 'g.name']).where('g.id', 'in', ids).execute()).map(
        ({ id, number, name }) => ({ id, name: `${number} ${name}` }),
      ),
    ),
    circuits: await asked(idsIn(texts, 'circuit_id'), async (ids) =>
      (
        await placedCircuits(db)
          .select(['c.id', 'u.number', 'g.name as group', 'c.name'])
          .where('c.id', 'in', ids)
          .execute()
      ).map(({ id, number, group, name }) => ({ id, name: `${number} ${group} ${name}` })),
    ),
  }
}
