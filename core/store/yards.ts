import type { Reader } from '#core/store/open.ts'

/** The yard of a name, or undefined. */
export function findYard(db: Reader, name: string) {
  return db.selectFrom('yard').selectAll().where('name', '=', name).executeTakeFirst()
}
