import { type Browser, type Page, expect, test } from '@playwright/test'
import type { Role } from '#core/words/roles.ts'
import { startHouse } from '#tests/screens/house.ts'

const password = 'four words in a row'
type House = Awaited<ReturnType<typeof startHouse>>

/** A desk at which somebody of a role has just chosen a password. */
async function deskOf(role: Role, house: House, browser: Browser): Promise<Page> {
  const { token } = await house.here.people.invite({ name: `The ${role}`, role, units: [] })
  const page = await (
    await browser.newContext({ ignoreHTTPSErrors: true, viewport: { width: 1280, height: 800 } })
  ).newPage()
  await page.goto(`${house.origin}/#/welcome/${token}`)
  await page.getByLabel('Password', { exact: true }).fill(password)
  await page.getByLabel('The same once more').fill(password)
  await page.getByRole('button', { name: 'Keep it and sign in' }).click()
  await expect(page.getByRole('heading', { name: 'Today' })).toBeVisible()
  return page
}

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
    expect(await steps(await deskOf('owner', house, browser))).toEqual({ record: [], ticket: [], fleet: [], weigh: [] })
    expect(await steps(await deskOf('shop', house, browser))).toEqual({
      record: ['Record work', 'Mount sensor'],
      ticket: [],
      fleet: ['Add sensor'],
      weigh: [],
    })
    expect(await steps(await deskOf('counter', house, browser))).toEqual({
      record: [],
      ticket: ['Correct…', 'Add a scan or photo…'],
      fleet: [],
      weigh: ['Save as a reading'],
    })
    expect(await steps(await deskOf('manager', house, browser))).toEqual({
      record: ['Record work', 'Edit unit', 'Add axle group', 'Mount sensor', 'Copy…', 'Retire…'],
      ticket: ['Correct…', 'Add a scan or photo…'],
      fleet: ['Add scale', 'Add sensor'],
      weigh: ['Save as a reading'],
    })
  } finally {
    await house.stop()
  }
})
