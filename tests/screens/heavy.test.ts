import { readFileSync } from 'node:fs'
import { expect, test } from './demo-fixtures.ts'
import { HeavyPage } from './pages/heavy-page.ts'
import { sayName } from './pages/person-dialog.ts'
import { violations } from './violations.ts'

const pounds = (text: string) => Number(text.split(' ')[0]?.replace(/,/g, '').replace('−', '-'))

test('by keyboard alone: to the log, down its lines, a driver’s note with a name, back to the line', async ({
  heavy,
  page,
}) => {
  await page.goto(`${heavy.origin}/#/roster`)
  await page.getByRole('grid', { name: 'Units' }).waitFor()
  await page.keyboard.press('g')
  await page.keyboard.press('y')
  await expect(page.getByRole('heading', { name: 'Heavy Log' })).toBeFocused()
  await heavy.lines().first().waitFor()
  while (!(await heavy.grid.evaluate((grid) => grid === document.activeElement))) await page.keyboard.press('Tab')
  await expect(heavy.chosen()).toHaveAttribute('aria-rowindex', '2')
  const newest = await heavy.when()
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('ArrowDown')
  await expect(heavy.chosen()).toHaveAttribute('aria-rowindex', '4')
  expect(await heavy.grid.getAttribute('aria-activedescendant')).toBe(await heavy.chosen().getAttribute('id'))
  await expect.poll(() => heavy.when()).not.toBe(newest)
  await page.keyboard.press('Enter')
  await expect(heavy.note).toBeFocused()
  await page.keyboard.type('Wet gravel')
  await page.keyboard.press('Control+Enter')
  await sayName(page, 'Ada')
  await expect(heavy.chosen()).toContainText('Wet gravel')
  await expect(heavy.grid).toBeFocused()
  await page.reload()
  await expect(heavy.lines().filter({ hasText: 'Wet gravel' }).first()).toBeVisible()
  await heavy.grid.focus()
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('Enter')
  await expect(heavy.note).toHaveValue('Wet gravel')
  await page.keyboard.press('Escape')
  await expect(heavy.grid).toBeFocused()
})

test('a note that was begun is kept with its own weighing, also when the window closes', async ({
  heavy,
  page,
  context,
}) => {
  await heavy.open('?limit=bridge')
  await heavy.lines().nth(1).click()
  const when = await heavy.when()
  await heavy.note.fill('Half a sentence')
  await heavy.lines().first().click()
  await expect(heavy.note).toHaveValue('')
  await page.close()
  const again = new HeavyPage(await context.newPage(), heavy.origin)
  await again.open('?limit=bridge')
  await again.lines().nth(1).click()
  await expect(again.side).toContainText('Unsaved draft restored')
  expect(await again.when()).toBe(when)
  await expect(again.note).toHaveValue('Half a sentence')
  await again.side.getByRole('button', { name: 'Discard it' }).click()
  await expect(again.note).toHaveValue('')
})

test('shows a note that another window saved meanwhile, and overwrites it only when told to', async ({
  heavy,
  context,
}) => {
  await context.addInitScript(() => localStorage.setItem('tareline-person', '"Ada"'))
  await heavy.open('?limit=bridge')
  await heavy.lines().first().click()
  await heavy.note.fill('Mine')
  const other = new HeavyPage(await context.newPage(), heavy.origin)
  await other.open('?limit=bridge')
  await other.lines().first().click()
  await other.note.fill('Theirs')
  await other.side.getByRole('button', { name: 'Save note' }).click()
  await expect(other.chosen()).toContainText('Theirs')
  // A window in the background does not ask for changes; one that is looked at again does.
  await heavy.page.bringToFront()
  await expect(heavy.side.getByRole('alert')).toContainText('Meanwhile this was saved: “Theirs”')
  await heavy.side.getByRole('button', { name: 'Keep mine instead' }).click()
  await heavy.side.getByRole('button', { name: 'Save note' }).click()
  await expect(heavy.chosen()).toContainText('Mine')
})

test('tells which limit, by how much, how surely and by what', async ({ heavy }) => {
  await heavy.open('?limit=bridge&verdict=over')
  await expect(heavy.lines()).toHaveCount(1)
  await expect(heavy.side.getByRole('heading', { name: 'over' })).toBeVisible()
  await expect(heavy.side).toContainText(/Over the limit by \d+\slb ±\s\d+ \(95 %\)/)
  await expect(heavy.side.getByRole('img', { name: /^Against the limit: \+\d+ ±\s\d+\slb$/ })).toBeVisible()
  await expect(heavy.side).toContainText(/axles 2 to 5, 4\d\.\d\sft between the outer ones/)
  await expect(heavy.side).toContainText(/9\d\s% that it is over the limit/)
  await expect(heavy.side).toContainText('not legal for trade')
  await heavy.side.getByRole('link', { name: 'House Rules' }).click()
  await expect(heavy.page.getByRole('textbox', { name: /^Limit of a tandem whose own is not recorded/ })).toBeVisible()
})

test('narrows by unit, yard, limit, days, verdict and source; Back undoes it', async ({ heavy, page }) => {
  await heavy.open()
  await heavy.lines().first().waitFor()
  const all = await heavy.total()
  await heavy.choose('Verdict', 'Over only')
  await expect.poll(() => heavy.total()).toBeLessThan(all)
  expect(new Set((await heavy.column('Verdict')).map((words) => words.split(',')[0]))).toEqual(new Set(['over']))
  await heavy.choose('Weighed by', 'Scale tickets')
  await expect.poll(async () => new Set(await heavy.column('By'))).toEqual(new Set(['ticket']))
  await heavy.choose('Limit', 'Gross')
  await expect.poll(async () => new Set(await heavy.column('Limit of'))).toEqual(new Set(['gross']))
  const gross = await heavy.total()
  const unit = page.getByRole('combobox', { name: 'Unit', exact: true })
  await unit.click()
  await unit.fill('t-121')
  await unit.press('Enter')
  await expect.poll(() => heavy.total()).toBeLessThan(gross)
  expect((await heavy.column('Combination')).every((units) => units.includes('T-121'))).toBe(true)
  await page.goBack()
  await expect.poll(() => heavy.total()).toBe(gross)
  await heavy.choose('Yard', 'Salt Bend')
  await expect(heavy.side).toContainText('Salt Bend')
  await page.getByRole('button', { name: 'Clear filters' }).click()
  await heavy.choose('Period', 'Last 365 days')
  await expect(page.getByLabel('First day')).not.toHaveValue('')
  await page.getByLabel('Last day').fill('2001-01-01')
  await expect(page.getByText('before the first day')).toBeVisible()
  await expect(page.getByText('Nothing here was over a limit or too close to call.')).toBeVisible()
  await page.getByRole('button', { name: 'Show everything' }).click()
  await expect.poll(() => heavy.total()).toBe(all)
})

test('walks a long list in either order with few lines in the page, and adds what tickets decided when asked', async ({
  heavy,
  page,
}) => {
  await heavy.open()
  await heavy.lines().first().waitFor()
  const all = await heavy.total()
  await heavy.grid.getByRole('button', { name: 'Over by' }).click()
  await expect(heavy.grid.getByRole('columnheader', { name: 'Over by' })).toHaveAttribute('aria-sort', 'descending')
  await expect
    .poll(async () => {
      const over = (await heavy.column('Over by')).map(pounds)
      return over.length > 10 && over.every((value, i) => i === 0 || value <= (over[i - 1] as number))
    })
    .toBe(true)
  await heavy.grid.focus()
  await page.keyboard.press('End')
  await expect(heavy.chosen()).toHaveAttribute('aria-rowindex', String(all + 1))
  await expect(heavy.side.getByRole('heading', { name: 'too close to call' })).toBeVisible()
  await expect(heavy.grid).toHaveAttribute('aria-rowcount', String(all + 1))
  expect(await heavy.lines().count()).toBeLessThan(80)
  await page.keyboard.press('Home')
  await expect(heavy.chosen()).toHaveAttribute('aria-rowindex', '2')
  await page.getByRole('checkbox', { name: 'Onboard too where a ticket decided' }).check()
  await expect.poll(() => heavy.total()).toBeGreaterThan(all)
})

test('ranks by rates drawn to the fleet, says so, and leads to a unit’s own log', async ({ heavy, page }) => {
  await heavy.open()
  await heavy.show('Offenders')
  await expect(
    page.getByText(
      /Each rate is drawn towards the fleet’s \d\.\d\s% as if \d+ weighings at that rate stood beside the unit’s own/,
    ),
  ).toBeVisible()
  const chart = page.locator('[data-plot="offenders"] svg.recharts-surface')
  await chart.focus()
  await page.keyboard.press('ArrowRight')
  const reading = ((await page.locator('.chart-reading').textContent()) ?? '').replace(/\s+/g, ' ')
  const read = (await page.locator('.chart-reading strong').textContent()) ?? ''
  await page.getByRole('radiogroup', { name: 'Worst offenders as' }).getByText('Table').click()
  const rows = heavy.table('Worst offenders, worst first').locator('tbody tr')
  const drawn = (await rows.locator('strong').allInnerTexts()).map((text) => Number.parseFloat(text))
  expect(drawn.every((rate, i) => i === 0 || rate <= (drawn[i - 1] as number))).toBe(true)
  const row = rows.filter({ has: page.getByRole('rowheader', { name: read, exact: true }) })
  const [, rate = 'nothing', ends = 'nothing'] =
    /^(\S+ %) (.+)$/.exec(((await row.locator('td').nth(5).textContent()) ?? '').replace(/\s+/g, ' ')) ?? []
  expect(reading).toContain(`${rate}, in 95 of 100 cases ${ends}`)
  const unit = (await rows.first().getByRole('link').textContent()) ?? ''
  await rows.first().getByRole('link').click()
  await expect(heavy.lines().first()).toContainText(unit)
  await expect(page.getByRole('combobox', { name: 'Unit', exact: true })).toHaveValue(unit)
})

test('counts months, yards and limits, which add up to the same weighings', async ({ heavy, page }) => {
  await heavy.open('?part=counts&months=table')
  const sum = async (table: string) =>
    (await heavy.table(table).locator('tbody tr td:nth-of-type(2)').allInnerTexts()).reduce(
      (total, text) => total + Number(text.replace(/,/g, '')),
      0,
    )
  await heavy.table('By month, newest first').waitFor()
  const over = await sum('By month, newest first')
  expect(over).toBeGreaterThan(0)
  expect(await sum('By yard')).toBe(over)
  await expect(page.getByRole('status').filter({ hasText: 'over a limit' })).toContainText(`${over} over a limit`)
  await page.getByRole('radiogroup', { name: 'Months as' }).getByText('Chart').click()
  await page.locator('[data-plot="months"] svg.recharts-surface').focus()
  await page.keyboard.press('ArrowRight')
  await expect(page.locator('.chart-reading')).toContainText(/over: \d+ of \d+ weighings/)
  await heavy.table('By yard').getByRole('link', { name: 'Salt Bend' }).click()
  await expect(heavy.side).toContainText('Salt Bend')
})

test('saves what is shown as CSV and as a spreadsheet', async ({ heavy, page }) => {
  await heavy.open('?limit=bridge')
  await heavy.lines().first().waitFor()
  const total = await heavy.total()
  const [csv] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save as CSV' }).click(),
  ])
  expect(csv.suggestedFilename()).toMatch(/^heavy-log-\d{4}-\d\d-\d\d\.csv$/)
  const lines = readFileSync(await csv.path(), 'utf8')
    .trimEnd()
    .split(/\r?\n/)
  expect(lines.length).toBe(total + 1)
  expect(lines.slice(1).every((line) => line.includes(',bridge,'))).toBe(true)
  await expect(page.getByText(`${csv.suggestedFilename()}, ${total} rows`)).toBeVisible()
  const [sheet] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save as spreadsheet' }).click(),
  ])
  // A spreadsheet is a ZIP archive.
  expect(
    readFileSync(await sheet.path())
      .subarray(0, 2)
      .toString(),
  ).toBe('PK')
})

test('looks back: what was called otherwise, with both words and why, as a page to print, and from the Unit sheet', async ({
  heavy,
  page,
}) => {
  await heavy.open()
  await page.getByRole('checkbox', { name: 'Changed since it was shown' }).check()
  await expect(heavy.lines().first()).toContainText(/was (over|under|too close)/)
  const total = await heavy.total()
  expect(total).toBeGreaterThan(0)
  await heavy.lines().first().click()
  await expect(heavy.side).toContainText(/Called (over|under|too close to call), now (over|under|too close to call)/)
  expect(await violations(page)).toEqual([])
  const [pdf] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save as PDF' }).click(),
  ])
  expect(pdf.suggestedFilename()).toMatch(/^look-back-\d{4}-\d\d-\d\d\.pdf$/)
  expect(
    readFileSync(await pdf.path())
      .subarray(0, 5)
      .toString(),
  ).toBe('%PDF-')
  await page.goto(`${heavy.origin}/#/unit/T-111`)
  const link = page.getByText(/^Look-back:/).getByRole('link')
  await expect(link).toContainText(/\d+ verdicts?/)
  await link.click()
  await expect(heavy.lines().first()).toContainText('T-111')
})

test('says that weights are being made anew, and asks again until they are', async ({ heavy, page }) => {
  let asked = 0
  await page.route('**/rpc/heavy/summary', async (route) => {
    asked += 1
    const answer = await route.fetch()
    await route.fulfill({
      response: answer,
      body: asked < 3 ? (await answer.text()).replace('"current":true', '"current":false') : await answer.text(),
    })
  })
  await heavy.open()
  await expect(page.getByRole('progressbar', { name: 'Weighing what has changed' })).toBeVisible()
  await expect(page.getByRole('progressbar')).toHaveCount(0)
  expect(asked).toBeGreaterThanOrEqual(3)
})

test('names a unit that is not there, and leads on', async ({ heavy, page }) => {
  await heavy.open('?unit=T-9')
  await expect(page.getByRole('alert')).toContainText('There is no unit T-9')
  await page.getByRole('alert').getByRole('button', { name: 'Clear filters' }).click()
  await expect(heavy.lines().first()).toBeVisible()
})

test('axe finds nothing', async ({ heavy, page }) => {
  await heavy.open('?decided=yes&unit=T-121')
  await heavy.lines().first().click()
  await heavy.note.fill('Scale house closed')
  await heavy.side.getByRole('button', { name: 'Save note' }).waitFor()
  expect(await violations(page)).toEqual([])
  await heavy.note.fill('')
  await heavy.open('?part=offenders')
  await page.locator('[data-plot="offenders"] svg.recharts-surface').waitFor()
  expect(await violations(page)).toEqual([])
  await heavy.open('?part=counts')
  await page.locator('[data-plot="months"] svg.recharts-surface').waitFor()
  expect(await violations(page)).toEqual([])
})

test('saving a note does not ask the Roster again, in this window', async ({ heavy, page }) => {
  const asked: string[] = []
  page.on('request', (request) => asked.push(new URL(request.url()).pathname))
  const count = (procedure: string) => asked.filter((path) => path === `/rpc/${procedure}`).length
  await page.goto(`${heavy.origin}/#/roster`)
  await page.getByRole('grid', { name: 'Units' }).getByRole('row').nth(1).waitFor()
  await page.evaluate(() => {
    location.hash = '#/heavy'
  })
  await heavy.lines().first().click()
  await heavy.note.fill('Dry gravel')
  const [rosters, logs] = [count('roster/list'), count('heavy/list')]
  expect(rosters).toBeGreaterThan(0)
  await page.keyboard.press('Control+Enter')
  await sayName(page, 'Ada')
  await expect(heavy.chosen()).toContainText('Dry gravel')
  expect(count('heavy/list')).toBeGreaterThan(logs)
  // It is told of its own save as well, in the stream that it has followed from the start.
  expect(count('file/follow')).toBe(1)
  await page.evaluate(() => {
    location.hash = '#/roster'
  })
  await page.getByRole('grid', { name: 'Units' }).getByRole('row').nth(1).waitFor()
  expect(count('roster/list')).toBe(rosters)
})
