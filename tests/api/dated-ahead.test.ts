import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { timeNow } from '#core/store/clock.ts'
import { laterBy, toStoredInstant } from '#core/words/instant.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import { writeFiles } from '#tests/exchange/small-fleet.ts'

it('a ticket dated ahead is listed and said to be so, and no figure of the Heavy Log counts it', async () => {
  const { app, client, end } = await openWindow(await runHeavyApp(), 'a message port')
  try {
    const before = await client.heavy.summary({})
    const at = toStoredInstant(laterBy(timeNow(), 40))
    const from = join(app.folder, 'ahead')
    mkdirSync(from)
    writeFiles(from, {
      'tickets.csv':
        'scale,ticket,weighed_at,unit,group,weight_lb,gross_lb\n' +
        `Salt Bend Yard,30999,${at},T-101,drive,36900,\nSalt Bend Yard,30999,${at},V-201,tandem,36900,\n`,
    })
    for await (const _ of await client.folder.bringIn({ folder: from }));
    const { rows } = await client.heavy.list({ kinds: ['group'] })
    expect(rows.filter(({ ahead }) => ahead).map(({ ticket, group }) => [ticket, group])).toEqual([
      ['30999', 'tandem'],
      ['30999', 'drive'],
    ])
    const { total, byLimit, byUnit } = await client.heavy.summary({})
    expect({ total, byLimit, byUnit }).toEqual({
      total: before.total,
      byLimit: before.byLimit,
      byUnit: before.byUnit,
    })
    const listed = await client.evidence.tickets({})
    const sheets = await Promise.all(listed.rows.map(async ({ id }) => client.evidence.sheet({ kind: 'ticket', id })))
    expect(sheets.length).toBeGreaterThan(1)
    expect(sheets.filter(({ ahead }) => ahead).map(({ key }) => key)).toEqual(['30999 of Salt Bend Yard'])
  } finally {
    await end()
  }
})
