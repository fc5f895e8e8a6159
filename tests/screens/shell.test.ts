import { expect, test } from './fixtures.ts'

test('jumps to a unit with Ctrl+K and a few letters', async ({ roster }) => {
  const { page } = roster
  await roster.open()
  await page.keyboard.press('Control+k')
  await page.getByRole('combobox', { name: /Unit number/ }).fill('v-2')
  const chosen = page.getByRole('listbox', { name: 'Places' }).locator('[data-combobox-selected]')
  await expect(chosen).toContainText('V-201')
  await expect(page.getByRole('combobox', { name: /Unit number/ })).toHaveAttribute(
    'aria-activedescendant',
    (await chosen.getAttribute('id')) ?? 'an option',
  )
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('Enter')
  await expect(page.getByRole('heading', { name: 'V-202', level: 1 })).toBeFocused()
})

test('opens with / and goes by g and a letter, until single keys are switched off', async ({ roster }) => {
  const { page } = roster
  await roster.open()
  await page.keyboard.press('/')
  await expect(page.getByRole('dialog', { name: 'Go to' })).toBeVisible()
  await page.keyboard.press('Escape')
  await expect(page.getByRole('dialog')).toHaveCount(0)
  await page.keyboard.press('g')
  await page.keyboard.press('f')
  await expect(page.getByRole('heading', { name: 'Fleet folder', level: 1 })).toBeFocused()
  await page.keyboard.press('?')
  const help = page.getByRole('dialog', { name: 'Help' })
  await help.getByRole('switch', { name: /Keys that work alone/ }).click()
  await page.keyboard.press('Escape')
  await expect(page.getByRole('dialog')).toHaveCount(0)
  await page.keyboard.press('g')
  await page.keyboard.press('r')
  await page.keyboard.press('?')
  await expect(page.getByRole('heading', { name: 'Fleet folder', level: 1 })).toBeVisible()
  await expect(page.getByRole('dialog')).toHaveCount(0)
})

test('says on each screen what it is for, and of a Unit sheet with its own figures', async ({ roster, unit }) => {
  const { page } = roster
  await roster.open()
  await page.getByRole('button', { name: 'Help', exact: true }).click()
  const help = page.getByRole('dialog', { name: 'Help' })
  await expect(help.getByRole('heading', { name: 'Roster', exact: true })).toBeVisible()
  await expect(help.getByText(/^Here: \S+ is [\w ]+: a weight at its limit is good to/)).toBeVisible()
  await page.keyboard.press('Escape')
  await unit.open('T-101')
  await page.keyboard.press('?')
  await expect(help.getByRole('heading', { name: 'Unit sheet', exact: true })).toBeVisible()
  await expect(help.getByText(/^Here: the limit of \w+ is [\d,]+.lb/)).toBeVisible()
})

test('leaves letters typed in a field alone', async ({ roster }) => {
  const { page } = roster
  await roster.open()
  await page.getByRole('searchbox', { name: 'Search units' }).pressSequentially('gr/?')
  await expect(page.getByRole('searchbox', { name: 'Search units' })).toHaveValue('gr/?')
  await expect(page.getByRole('dialog')).toHaveCount(0)
})

test('names the file and its revision, and skips to the screen', async ({ roster }) => {
  const { page } = roster
  await roster.open()
  await expect(page.getByRole('banner')).toContainText('fleet.tareline')
  await expect(page.getByRole('banner')).toContainText(/revision \d/)
  await page.keyboard.press('Tab')
  await page.keyboard.press('Enter')
  await expect(page.getByRole('main')).toBeFocused()
})

test('follows the system between light and dark, and can be set', async ({ roster }) => {
  const { page } = roster
  await page.emulateMedia({ colorScheme: 'dark' })
  await roster.open()
  const scheme = () => page.locator('html').getAttribute('data-mantine-color-scheme')
  await expect.poll(scheme).toBe('dark')
  await page.emulateMedia({ colorScheme: 'light' })
  await expect.poll(scheme).toBe('light')
  await page.getByRole('button', { name: /^Colors/ }).click()
  await page.getByRole('button', { name: /^Colors/ }).click()
  await expect.poll(scheme).toBe('dark')
  await page.reload()
  await expect.poll(scheme).toBe('dark')
})

test('says so when the address names no screen', async ({ roster }) => {
  await roster.page.goto(`${roster.origin}/#/nowhere`)
  await expect(roster.page.getByRole('heading', { name: 'No such screen' })).toBeVisible()
  await roster.page.getByRole('link', { name: 'Open the Roster' }).click()
  await expect(roster.title).toBeVisible()
})
