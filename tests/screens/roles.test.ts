import { type Page, expect, test } from '@playwright/test'
import { deskOf, startHouse } from '#tests/screens/house.ts'

/** Which of some buttons a page has. */
async function shown(page: Page, names: readonly string[]): Promise<string[]> {
  const found: string[] = []
  for (const name of names) if ((await page.getByRole('button', { name }).count()) > 0) found.push(name)
  return found
}

test('a role is shown the steps that it may take, and no others', async ({ browser }) => {
  test.setTimeout(240_000)
  const house = await startHouse()
  try {
    const [ticket] = (await house.here.evidence.tickets({})).rows
    const steps = async (page: Page) => {
      const found: Record<string, string[]> = {}
      await page.goto(`${house.origin}/#/record/T-101`)
      await expect(page.getByRole('heading', { name: 'T-101, record' })).toBeVisible()
      found['record'] = await shown(page, [
        'Record work',
        'Edit unit',
        'Add axle group',
        'Mount sensor',
        'Copy…',
        'Retire…',
      ])
      await page.goto(`${house.origin}/#/ticket/${ticket?.id}`)
      await expect(page.getByRole('heading', { name: 'Attachments' })).toBeVisible()
      found['ticket'] = await shown(page, ['Correct…', 'Add a scan or photo…'])
      await page.goto(`${house.origin}/#/fleet`)
      await expect(page.getByRole('heading', { name: 'Scales' })).toBeVisible()
      found['fleet'] = await shown(page, ['Add scale', 'Add sensor'])
      await page.goto(`${house.origin}/#/weigh/T-101`)
      await expect(page.getByLabel('T-101 drive main')).toBeVisible()
      found['weigh'] = await shown(page, ['Save as a reading'])
      return found
    }
    expect(await steps(await deskOf(house, browser, { name: 'The owner', role: 'owner' }))).toEqual({
      record: [],
      ticket: [],
      fleet: [],
      weigh: [],
    })
    expect(await steps(await deskOf(house, browser, { name: 'The shop', role: 'shop' }))).toEqual({
      record: ['Record work', 'Mount sensor'],
      ticket: [],
      fleet: ['Add sensor'],
      weigh: [],
    })
    expect(await steps(await deskOf(house, browser, { name: 'The counter', role: 'counter' }))).toEqual({
      record: [],
      ticket: ['Correct…', 'Add a scan or photo…'],
      fleet: [],
      weigh: ['Save as a reading'],
    })
    expect(await steps(await deskOf(house, browser, { name: 'The manager', role: 'manager' }))).toEqual({
      record: ['Record work', 'Edit unit', 'Add axle group', 'Mount sensor', 'Copy…', 'Retire…'],
      ticket: ['Correct…', 'Add a scan or photo…'],
      fleet: ['Add scale', 'Add sensor'],
      weigh: ['Save as a reading'],
    })
  } finally {
    await house.stop()
  }
})
