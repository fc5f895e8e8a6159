import { type Browser, type Page, expect, test } from '@playwright/test'
import { startHouse } from '#tests/screens/house.ts'
import { violations } from '#tests/screens/violations.ts'

const password = 'four words in a row'
type House = Awaited<ReturnType<typeof startHouse>>

/** A desk with a manager of that name, who has just chosen a password. */
async function deskOf(name: string, house: House, browser: Browser): Promise<Page> {
  const { token } = await house.here.people.invite({ name, role: 'manager', units: [] })
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

test('two desks with one form open hear of each other, of what was changed a moment ago, and of both values', async ({
  browser,
}) => {
  test.setTimeout(240_000)
  const house = await startHouse()
  try {
    const kim = await deskOf('Kim Vale', house, browser)
    const lou = await deskOf('Lou Hart', house, browser)
    for (const page of [kim, lou]) {
      await page.goto(`${house.origin}/#/record/T-101`)
      await page.getByRole('button', { name: 'Edit unit' }).click()
    }
    await expect(kim.getByText('Lou Hart has this form open too.')).toBeVisible()
    await expect(lou.getByText('Kim Vale has this form open too.')).toBeVisible()
    expect(await violations(lou, '[role="dialog"]')).toEqual([])

    await lou.getByLabel('Make').fill('Ostrander')
    await kim.getByLabel('Make').fill('Vantner')
    await kim.getByRole('button', { name: 'Save' }).click()
    await expect(lou.getByText('Changed by Kim Vale a moment ago: T-101, unit.')).toBeVisible()
    await expect(lou.getByText('has this form open too.')).toHaveCount(0)
    // Nobody is told of the own change.
    await expect(kim.getByText('a moment ago')).toHaveCount(0)
    await lou.getByRole('button', { name: 'Save' }).click()
    await expect(lou.getByRole('dialog').getByText('Vantner')).toBeVisible()
    await expect(lou.getByLabel('Make')).toHaveValue('Ostrander')

    // It is of a moment ago on what shows it, and nowhere else.
    await lou.goto(`${house.origin}/#/weigh`)
    await expect(lou.getByText('a moment ago')).toHaveCount(0)
  } finally {
    await house.stop()
  }
})
