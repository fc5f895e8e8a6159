import { beforeAll, describe, expect, it } from 'vitest'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import { type Client, ways } from '#tests/api/windows.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { some } from '#tests/some.ts'

describe.each(ways)('over %s', (way) => {
  let app: RunningApp
  let client: Client
  beforeAll(async () => {
    const window = await openWindow(await runHeavyApp(), way)
    ;({ app, client } = window)
    return window.end
  })

  it('the page of a day tells each finding once, and the same states as the Roster', async () => {
    const page = await client.today.page({})
    const { rows } = await client.roster.list()
    const told = some(page.untrusted.rows).map(({ unit, groups, code, message }) =>
      JSON.stringify([unit, groups, code, message]),
    )
    expect(new Set(told).size).toBe(told.length)
    const groups = Object.values(page.groups).reduce((sum, count) => sum + count, 0)
    expect(groups).toBe(rows.reduce((sum, row) => sum + row.groups, 0))
    expect(page.untrusted.byCode.reduce((sum, { findings }) => sum + findings, 0)).toBe(page.untrusted.total)
    for (const { unit, code } of page.untrusted.rows)
      expect(unit === null || rows.find((row) => row.unit === unit)?.findingCodes.includes(code)).toBe(true)
  })

  it('is narrowed by a yard, and refuses one that is not there', async () => {
    const all = await client.today.page({})
    const some = await client.today.page({ yard: 'Cinder Gap' })
    expect(some.untrusted.total).toBeLessThanOrEqual(all.untrusted.total)
    for (const { yard } of some.untrusted.rows) expect(['Cinder Gap', null]).toContain(yard)
    await expect(client.today.page({ yard: 'Nowhere' })).rejects.toThrow('There is no yard Nowhere in this fleet.')
  })

  it('leaves as a PDF, a calendar and a spreadsheet', async () => {
    const [pdf, calendar, findings] = [
      await client.today.pdf({}),
      await client.today.calendar({}),
      await client.today.findings({}),
    ]
    expect([pdf.name, calendar.name, findings.name].map((name) => name.split('.').at(-1))).toEqual([
      'pdf',
      'ics',
      'xlsx',
    ])
    expect((await pdf.text()).slice(0, 5)).toBe('%PDF-')
    expect((await calendar.text()).startsWith('BEGIN:VCALENDAR')).toBe(true)
    expect((await findings.text()).slice(0, 2)).toBe('PK')
  })

  it('Monday’s page counts each weighing of its month once, and its rates stand to the one of the fleet', async () => {
    const { rows } = await client.heavy.list({})
    const month = rows[0]?.weighedAt.slice(0, 7) ?? ''
    const page = await client.heavy.monday({ month })
    const { total } = await client.heavy.summary({ from: page.from, to: page.to })
    expect(page.fleet).toMatchObject(total)
    expect(page.fleet?.rate).toBeCloseTo(total.over / total.weighings, 12)
    for (const list of [page.units, page.yards])
      expect(list.rows.reduce((sum, row) => sum + row.weighings, 0)).toBe(total.weighings)
    const offenders = (await client.heavy.summary({ from: page.from, to: page.to, yard: 'Cinder Gap' })).offenders
    expect(offenders?.fleetRate).toBeCloseTo(total.over / total.weighings, 12)
    expect((await (await client.heavy.mondayPdf({ month })).text()).slice(0, 5)).toBe('%PDF-')
    await expect(client.heavy.monday({ month: '2025-14' })).rejects.toThrow()
  })

  it('names drivers unless the House Rules keep them off', async () => {
    await app.context.fleet.use((store) =>
      store.db.updateTable('ticket').set({ driver: 'R. Stone', lane: 'Quarry 2' }).execute(),
    )
    const { rows } = await client.heavy.list({ sources: ['ticket'] })
    expect(some(rows).map(({ driver }) => driver)).toEqual(rows.map(() => 'R. Stone'))
    const month = rows[0]?.weighedAt.slice(0, 7) ?? ''
    const monday = await client.heavy.monday({ month })
    expect(monday.drivers?.rows[0]?.name).toBe('R. Stone')
    expect(monday.lanes.rows[0]).toMatchObject({ name: 'Quarry 2', weighings: monday.drivers?.rows[0]?.weighings })
    await client.houseRules.change({ name: 'drivers', value: 1, was: 0, by: 'M. Adair' })
    expect((await client.heavy.monday({ month })).drivers).toBeNull()
    expect((await client.heavy.list({ sources: ['ticket'] })).rows.map(({ driver }) => driver)).toEqual(
      rows.map(() => null),
    )
    const sheet = await client.evidence.sheet({ kind: 'ticket', id: rows[0]?.ticketId ?? 0 })
    expect(sheet.values).not.toHaveProperty('driver')
    await client.houseRules.change({ name: 'drivers', value: 0, was: 1, by: 'M. Adair' })
  })

  it('the Roster and the scales leave in the order and measures of the screen', async () => {
    expect((await (await client.roster.export({ descending: true, format: 'pdf' })).text()).slice(0, 5)).toBe('%PDF-')
    expect((await client.roster.export({ sort: 'trust', format: 'spreadsheet' })).name).toMatch(/^roster-.*\.xlsx$/)
    expect((await client.scales.export()).name).toMatch(/^scales-.*\.xlsx$/)
  })
})
