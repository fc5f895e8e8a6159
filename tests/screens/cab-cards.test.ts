import { readFileSync } from 'node:fs'
import type { Download, Page } from '@playwright/test'
import { expect, test } from './fixtures.ts'

/** Pages of a saved PDF. */
async function pagesOf(file: Download): Promise<number> {
  const text = readFileSync(await file.path()).toString('latin1')
  expect(text.startsWith('%PDF-')).toBe(true)
  return (text.match(/\/Type \/Page\b/g) ?? []).length
}

/** What a press of Enter on a button saves. */
async function saveWithEnter(page: Page, name: string): Promise<Download> {
  const button = page.getByRole('button', { name, exact: true })
  while (!(await button.evaluate((element) => element === document.activeElement))) await page.keyboard.press('Tab')
  const [file] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Enter')])
  return file
}

test('saves the cab card of a unit from its sheet, by keyboard', async ({ unit }) => {
  const { page } = unit
  await unit.open('T-101')
  const file = await saveWithEnter(page, 'Cab card')
  expect(file.suggestedFilename()).toMatch(/^cab-card-t-101-\d{4}-\d\d-\d\d\.pdf$/)
  expect(await pagesOf(file)).toBe(1)
  await expect(page.getByText(`Saved ${file.suggestedFilename()}. Open it to print.`)).toBeVisible()
})

test('saves the cards of the units that the Roster shows in one file, a page a unit', async ({ roster }) => {
  const { page } = roster
  await roster.open('?kind=trailer')
  const file = await saveWithEnter(page, 'Cab cards')
  expect(file.suggestedFilename()).toMatch(/^cab-cards-\d{4}-\d\d-\d\d\.pdf$/)
  expect(await pagesOf(file)).toBe(3)
  await roster.search('nothing-like-this')
  await expect(page.getByRole('button', { name: 'Cab cards' })).toBeDisabled()
})
