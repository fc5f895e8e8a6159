import { readdirSync } from 'node:fs'
import { resolve } from 'node:path'
import { describe, expect, it } from 'vitest'
import { latestStep } from '#core/store/open.ts'
import { migrations } from '#migrations/index.ts'
import { withStore } from '#tests/store/temporary-store.ts'

describe('the schema steps', () => {
  it('are all in the list, in their order', () => {
    const files = readdirSync(resolve(import.meta.dirname, '../../migrations'))
      .filter((file) => /^\d{4}-.*\.ts$/.test(file))
      .sort()
    expect(Object.keys(migrations)).toEqual(files.map((file) => file.replace('.ts', '')))
    expect(Object.keys(migrations).map((name) => Number(name.slice(0, 4)))).toEqual(
      Array.from({ length: latestStep }, (_, index) => index + 1),
    )
  })

  it('make the schema that was reviewed', () =>
    withStore(async ({ raw }) => {
      const schema = raw
        .prepare(
          "select type, name, tbl_name, sql from sqlite_schema where name not like 'sqlite_%' and name not glob 'unseal_*' order by tbl_name, type desc, name",
        )
        .raw()
        .all() as string[][]
      await expect(
        `${schema.map(([, , , sql = '']) => `${sql.replaceAll(/\s+/g, ' ')};`).join('\n')}\n`,
      ).toMatchFileSnapshot('schema.sql')
      const loose = raw
        .prepare(
          "select name from pragma_table_list where type = 'table' and strict = 0 and schema = 'main' and name not like 'sqlite_%' and name not like 'kysely_%'",
        )
        .pluck()
        .all()
      expect(loose).toEqual([])
    }))
})
