import { expect, test } from '@playwright/test'
import { deskOf, startHouse } from '#tests/screens/house.ts'
import { violations } from '#tests/screens/violations.ts'

test('two desks with one form open hear of each other, of what was changed a moment ago, and of both values', async ({
  browser,
}) => {
  test.setTimeout(240_000)
  const house = await startHouse()
  try {
    const kim = await deskOf(house, browser, { name: 'Kim Vale', role: 'manager' })
    const lou = await deskOf(house, browser, { name: 'Lou Hart', role: 'manager' })
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
