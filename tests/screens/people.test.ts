import { type Browser, type Page, expect, test } from '@playwright/test'
import { startHouse } from '#tests/screens/house.ts'
import { violations } from '#tests/screens/violations.ts'

const password = 'four words in a row'

const desk = async (browser: Browser, viewport = { width: 1280, height: 800 }): Promise<Page> =>
  (await browser.newContext({ ignoreHTTPSErrors: true, viewport })).newPage()
const phone = { width: 390, height: 844 }

const isAsWideAsThePage = (page: Page) =>
  page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth)

async function choosePassword(page: Page): Promise<void> {
  await page.getByLabel('Password', { exact: true }).fill(password)
  await page.getByLabel('The same once more').fill(password)
  await page.getByRole('button', { name: 'Keep it and sign in' }).click()
}

test('a manager invites a driver, who weighs the units given from a phone until the session is ended', async ({
  browser,
}) => {
  // Passwords are slow to work out on purpose, and three desks are looked through.
  test.setTimeout(300_000)
  const house = await startHouse()
  try {
    const { token } = await house.here.people.invite({ name: 'Kim Vale', role: 'manager', units: [] })
    const manager = await desk(browser, phone)
    await manager.goto(house.origin)
    await expect(manager.getByRole('heading', { name: 'Sign in' })).toBeVisible()
    expect(await violations(manager)).toEqual([])
    expect(await isAsWideAsThePage(manager)).toBe(true)
    await manager.getByLabel('Your name').fill('Kim Vale')
    await manager.getByLabel('Password', { exact: true }).fill('not the password')
    await manager.getByRole('button', { name: 'Sign in' }).click()
    await expect(manager.getByText('The name or the password is wrong.')).toBeVisible()

    await manager.goto(`${house.origin}/#/welcome/${token}`)
    await expect(manager.getByText('a manager, who changes everything')).toBeVisible()
    expect(await isAsWideAsThePage(manager)).toBe(true)
    await choosePassword(manager)
    await expect(manager.getByRole('heading', { name: 'Today' })).toBeVisible()
    expect(new URL(manager.url()).hash).not.toContain(token)

    await manager.setViewportSize({ width: 1280, height: 800 })
    await expect(manager.getByRole('button', { name: 'Signed in: Kim Vale · manager' })).toBeVisible()
    await manager.goto(`${house.origin}/#/people`)
    await manager.getByLabel('Name').fill('Lou Hart')
    await manager.getByLabel('Role').selectOption('driver')
    await manager.getByLabel('Units, with commas between them').fill('T-101')
    await manager.getByRole('button', { name: 'Make a link' }).click()
    const link = await manager.locator('.people-link').textContent()
    await expect(manager.getByText('Kim Vale invited Lou Hart as a driver.')).toBeVisible()

    const driver = await desk(browser, phone)
    await driver.goto(`${house.origin}/${new URL(link ?? '').hash}`)
    await choosePassword(driver)
    await expect(driver.getByRole('heading', { name: 'Weigh now' })).toBeVisible()
    await expect(driver.getByText('V-201')).toHaveCount(0)
    await driver.getByRole('button', { name: /all screens/ }).click()
    await expect(driver.getByRole('link', { name: 'Roster' })).toHaveCount(0)
    await driver.goto(`${house.origin}/#/roster`)
    await expect(driver.getByText('You are signed in as a driver, who has no part in this page.')).toBeVisible()

    await manager.getByRole('button', { name: 'Lou Hart' }).click()
    const sheet = manager.getByRole('dialog')
    expect(await violations(manager)).toEqual([])
    await sheet.getByRole('button', { name: 'End from Lou Hart' }).click()
    await expect(sheet.getByText('Lou Hart is signed in nowhere.')).toBeVisible()
    await driver.goto(`${house.origin}/#/weigh`)
    await expect(driver.getByRole('heading', { name: 'Sign in' })).toBeVisible()

    await manager.keyboard.press('Escape')
    await manager.getByRole('button', { name: /^Signed in/ }).click()
    await manager.getByRole('button', { name: 'Sign out' }).click()
    await expect(manager.getByRole('heading', { name: 'Sign in' })).toBeVisible()
    await manager.reload()
    await expect(manager.getByRole('heading', { name: 'Sign in' })).toBeVisible()
  } finally {
    await house.stop()
  }
})
