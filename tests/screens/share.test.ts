import { expect, test } from '@playwright/test'
import { freePort } from '#tests/free-port.ts'
import { letIn, startAppOn } from '#tests/screens/app.ts'
import { violations } from '#tests/screens/violations.ts'

test('the running app shares its fleet: a desk comes in, and stands before a closed door once that ends', async ({
  browser,
}) => {
  test.setTimeout(240_000)
  const app = await startAppOn('small')
  try {
    const own = await browser.newContext({ viewport: { width: 1280, height: 800 } })
    await letIn(own, app)
    const page = await own.newPage()
    await page.goto(`${app.origin}/#/share`)
    const port = await freePort()
    await page.getByLabel('Port').fill('70000')
    await page.getByRole('button', { name: 'Share this fleet from here' }).click()
    await expect(page.getByText('a whole number from 1 to 65535 is accepted')).toBeVisible()
    expect(await violations(page)).toEqual([])
    await page.getByLabel('Port').fill(String(port))
    await page.getByRole('button', { name: 'Share this fleet from here' }).click()
    await expect(page.getByRole('button', { name: 'Stop sharing' })).toBeVisible()
    await expect(page.getByText('SHA-256 of the authority')).toBeVisible()

    const { token } = await app.client.people.invite({ name: 'Kim Vale', role: 'manager', units: [] })
    const desk = await (await browser.newContext({ ignoreHTTPSErrors: true })).newPage()
    const origin = `https://127.0.0.1:${port}`
    await desk.goto(`${origin}/#/welcome/${token}`)
    await desk.getByLabel('Password', { exact: true }).fill('four words in a row')
    await desk.getByLabel('The same once more').fill('four words in a row')
    await desk.getByRole('button', { name: 'Keep it and sign in' }).click()
    await expect(desk.getByRole('heading', { name: 'Today' })).toBeVisible()
    await desk.goto(`${origin}/#/share`)
    await expect(desk.getByText('SHA-256 of the authority')).toBeVisible()
    await expect(desk.getByRole('button', { name: 'Stop sharing' })).toHaveCount(0)

    await page.getByRole('button', { name: 'Stop sharing' }).click()
    await expect(page.getByRole('button', { name: 'Share this fleet from here' })).toBeVisible()
    await expect(desk.getByText('The house does not answer')).toBeVisible()
    // The own window goes on, and is still told.
    expect(await app.client.people.standing()).toEqual({ at: 'alone' })
    await page.goto(`${app.origin}/#/roster`)
    await expect(page.getByRole('link', { name: 'T-101' }).first()).toBeVisible()
  } finally {
    await app.stop()
  }
})
