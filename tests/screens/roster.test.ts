import { expect, test } from './fixtures.ts'

test('lists every unit, worst trust first, each with its word', async ({ roster }) => {
  await roster.open()
  expect(await roster.numbers()).toEqual(['T-105', 'T-104', 'V-201', 'T-103', 'T-102', 'T-101', 'V-202', 'V-1000'])
  for (const [unit, trust] of Object.entries({
    'T-105': 'uncalibrated',
    'T-104': 'upset',
    'V-201': 'doubtful',
    'T-103': 'overdue',
    'T-102': 'due soon',
    'T-101': 'sound',
  })) {
    await expect(roster.line(unit).getByRole('gridcell', { name: trust })).toBeVisible()
  }
  await expect(roster.line('T-104')).toContainText('Event since calibration')
  await expect(roster.line('T-101')).toContainText('100 d ago')
  await expect(roster.line('T-101')).toContainText(/±\s\d{2,3}/)
  await expect(roster.page).toHaveTitle('Roster · Tareline')
})

test('counts the units of each trust state and filters by them; Back undoes it', async ({ roster }) => {
  await roster.open()
  await expect(roster.state('sound')).toHaveText('sound3')
  await roster.state('sound').click()
  await expect(roster.state('sound')).toHaveAttribute('aria-pressed', 'true')
  await expect.poll(() => roster.numbers()).toEqual(['T-101', 'V-202', 'V-1000'])
  await roster.state('upset').click()
  await expect.poll(() => roster.numbers()).toEqual(['T-104', 'T-101', 'V-202', 'V-1000'])
  await roster.page.goBack()
  await expect.poll(() => roster.numbers()).toEqual(['T-101', 'V-202', 'V-1000'])
  await roster.page.goBack()
  await expect.poll(async () => (await roster.numbers()).length).toBe(8)
})

test('narrows by words, kind, yard and finding together, and leads on when nothing is left', async ({ roster }) => {
  await roster.open()
  await roster.search('fern talv')
  await expect.poll(() => roster.numbers()).toEqual(['T-103'])
  await roster.search('')
  await roster.choose('Kind', 'Trailers')
  await expect.poll(async () => (await roster.numbers()).sort()).toEqual(['V-1000', 'V-201', 'V-202'])
  await roster.choose('Finding', 'Points disagree')
  await expect.poll(() => roster.numbers()).toEqual(['V-201'])
  await roster.choose('Yard', 'Fernside')
  await expect(roster.page.getByText('No unit matches these filters.')).toBeVisible()
  await roster.page.getByRole('button', { name: 'Show every unit' }).click()
  await expect.poll(async () => (await roster.numbers()).length).toBe(8)
})

test('keeps filters, sort and selection in the address', async ({ roster }) => {
  await roster.open('?text=quillmarch&sort=unit&order=desc&at=V-202')
  expect(await roster.numbers()).toEqual(['V-1000', 'V-202', 'V-201'])
  await expect(roster.selected()).toHaveAttribute('data-line', 'V-202')
})

test('sorts by a column both ways, numbers in their natural order, unknown last', async ({ roster }) => {
  await roster.open()
  await roster.sortBy('Unit')
  await expect(roster.heading('Unit')).toHaveAttribute('aria-sort', 'ascending')
  await expect
    .poll(() => roster.numbers())
    .toEqual(['T-101', 'T-102', 'T-103', 'T-104', 'T-105', 'V-201', 'V-202', 'V-1000'])
  await roster.sortBy('Calibrated')
  await expect.poll(async () => (await roster.numbers()).at(-1)).toBe('T-105')
  await roster.sortBy('Calibrated')
  await expect(roster.heading('Calibrated')).toHaveAttribute('aria-sort', 'descending')
  await expect.poll(async () => (await roster.numbers())[0]).toBe('T-103')
  expect((await roster.numbers()).at(-1)).toBe('T-105')
  await roster.page.goBack()
  await expect(roster.heading('Calibrated')).toHaveAttribute('aria-sort', 'ascending')
})

test('is walked with the keyboard alone: select, open, come back to the same unit', async ({ roster }) => {
  const { page } = roster
  await roster.open()
  await page.keyboard.press('ArrowDown')
  await expect(roster.selected()).toHaveAttribute('data-line', 'T-105')
  await page.keyboard.press('End')
  await expect(roster.selected()).toHaveAttribute('data-line', 'V-1000')
  await page.keyboard.press('Home')
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('ArrowDown')
  await expect(roster.selected()).toHaveAttribute('data-line', 'V-201')
  await page.keyboard.press('PageDown')
  await page.keyboard.press('PageUp')
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('Enter')
  await expect(page.getByRole('heading', { name: 'T-104', level: 1 })).toBeFocused()
  await expect(page).toHaveTitle('T-104 · Unit sheet · Tareline')
  await page.goBack()
  await expect(roster.selected()).toHaveAttribute('data-line', 'T-104')
  await expect(roster.units).toBeFocused()
  await page.keyboard.press('ArrowDown')
  await expect(roster.selected()).toHaveAttribute('data-line', 'V-201')
})

test('tells a reader how many rows there are and which one is selected', async ({ roster }) => {
  await roster.open()
  await expect(roster.units).toHaveAttribute('aria-rowcount', '9')
  await roster.units.focus()
  await roster.page.keyboard.press('ArrowDown')
  const id = await roster.selected().getAttribute('id')
  await expect(roster.units).toHaveAttribute('aria-activedescendant', id ?? 'none')
  await expect(roster.selected()).toHaveAttribute('aria-rowindex', '2')
})

test('opens a unit with a click on its line', async ({ roster }) => {
  await roster.open()
  await roster.line('V-202').getByText('Quillmarch').click()
  await expect(roster.page.getByRole('heading', { name: 'V-202', level: 1 })).toBeVisible()
})
