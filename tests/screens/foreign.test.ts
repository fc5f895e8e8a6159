import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { timeNow } from '#core/store/clock.ts'
import { expect, test as base } from './fixtures.ts'
import { ForeignPage } from './pages/foreign-page.ts'
import { sayName } from './pages/person-dialog.ts'
import { violations } from './violations.ts'

const test = base.extend<{ foreign: ForeignPage }>({
  foreign: async ({ page, smallApp }, use) => {
    await use(new ForeignPage(page, smallApp.origin))
  },
})

/** A day since which the small fleet has its sensors, whichever day it is: YYYY-MM-DD. */
const mountedDay = new Date(timeNow() - 600 * 86_400_000).toISOString().slice(0, 10)

const tickets = [
  'Wiegeschein;Datum;Uhrzeit;Waage;Zugmaschine;Anhänger;Antriebsachse (kg);Anhängerachse (kg)',
  'B-1;21.03.2025;14:30;Millrace Yard;T-101;V-201;10.120,5;9.870,0',
  'B-2;22.03.2025;07:05;Millrace Yard;T-102;V-202;schwer;9.100,0',
  'B-3;22.03.2025;08:05;Millrace Yard;T-103;;6.020,0;',
]
  .join('\r\n')
  .concat('\r\n')

test('a German weighbridge file: looked into, mapping saved, good rows in, the rest mended and brought back', async ({
  foreign,
  smallApp,
  page,
}) => {
  const file = join(smallApp.folder, 'waage.csv')
  writeFileSync(file, Buffer.from(tickets, 'latin1'))
  await page.goto(`${smallApp.origin}/#/scale-house`)
  await page.getByRole('link', { name: 'Import a CSV file' }).click()
  await expect(page.getByRole('heading', { name: 'Import a CSV file', level: 1 })).toBeFocused()
  await foreign.pick(file)

  // All is guessed; each row stands as it would be stored, and what is wrong at its very cell.
  await expect(foreign.setting('Decimal sign')).toHaveValue('comma')
  await expect(foreign.setting('Dates')).toHaveValue('day first')
  await expect(foreign.setting('Encoding')).toHaveValue('windows-1252')
  await expect(foreign.setting('Weights in')).toHaveValue('kg')
  await expect(foreign.storedRows().filter({ hasText: 'B-1' }).first()).toContainText('22,312 lb')
  await expect(foreign.fileRow(3).getByRole('cell').filter({ hasText: 'schwer' })).toContainText('is not accepted')
  await foreign.setting('Dates').selectOption('month first')
  await expect(foreign.fileRow(2)).toContainText('21.03.2025')
  await expect(foreign.fileRow(2)).toContainText('is not accepted')

  // What is set and not saved outlives the window.
  await page.reload()
  await expect(page.getByText('Unsaved draft restored.')).toBeVisible()
  await expect(foreign.setting('Dates')).toHaveValue('month first')
  await foreign.setting('Dates').selectOption('day first')
  await foreign.setting('Time zone').selectOption('Europe/Berlin')
  await foreign.saved.getByLabel('Name').fill('Weighbridge')
  await foreign.saved.getByRole('button', { name: 'Save mapping' }).click()
  await sayName(page, 'M. Tarn')
  await expect(foreign.saved.getByText('Saved as Weighbridge.')).toBeVisible()
  await expect(foreign.saved.getByLabel('Mapping')).toContainText('Weighbridge (fits this file)')

  await foreign.bringIn('waage.csv')
  await expect(foreign.outcome('Not imported')).toBeFocused()
  await expect(foreign.problems()).toHaveCount(1)
  await expect(foreign.problems().first()).toContainText('Antriebsachse (kg)')
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Import the good rows and save the others' }).click(),
  ])
  await expect(foreign.outcome('Imported')).toBeFocused()
  await expect(page.getByText('2 rows of waage.csv: 3 weights added')).toBeVisible()
  expect(download.suggestedFilename()).toBe('waage-to-mend.csv')
  const rest = readFileSync(await download.path(), 'latin1')
  expect(rest).toMatch(/^What is wrong \(Tareline\);Wiegeschein;.*Anhänger;/)
  expect(rest.trimEnd().split('\r\n')).toHaveLength(2)

  const mended = join(smallApp.folder, 'waage-to-mend.csv')
  writeFileSync(mended, Buffer.from(rest.replace(';schwer;', ';8.000,0;'), 'latin1'))
  await foreign.another()
  await foreign.pick(mended)
  // The saved mapping fits, and is taken.
  await expect(foreign.saved.getByLabel('Name')).toHaveValue('Weighbridge')
  await expect(foreign.setting('Time zone')).toHaveValue('Europe/Berlin')
  await foreign.bringIn('waage-to-mend.csv')
  await expect(page.getByText('1 row of waage-to-mend.csv: 2 weights added')).toBeVisible()
  await foreign.another()
  await foreign.pick(mended)
  await foreign.bringIn('waage-to-mend.csv')
  await expect(foreign.outcome('Nothing new')).toBeVisible()
  await expect(page.getByText('2 there already')).toBeVisible()
  // Nothing of it is left to be found again.
  await page.reload()
  await foreign.drop('gauges.csv', `serial,time,psi\nS-1,${mountedDay} 14:30,52\n`)
  await expect(foreign.storedRows().first()).toContainText('52.0 psi')
  await page.goto(`${smallApp.origin}/#/log`)
  await expect(page.getByText('waage-to-mend.csv')).toBeVisible()
})

test('by keyboard alone: a path typed, a column chosen, imported; the mapping renamed and removed', async ({
  foreign,
  smallApp,
  page,
}) => {
  const file = join(smallApp.folder, 'sensors.txt')
  writeFileSync(file, `when\tserial\tpressure kPa\n${mountedDay}T20:30:00Z\tS-1\t358.5\n`)
  await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Tarn')))
  await foreign.open()
  await page.getByRole('button', { name: 'Choose a file…' }).focus()
  await page.keyboard.press('Tab')
  await page.keyboard.type(file)
  await page.keyboard.press('Enter')
  await expect(foreign.setting('Place told by')).toHaveValue('serial')
  await expect(foreign.storedRows().first()).toContainText('52.0 psi')
  await foreign.setting('Date').focus()
  await expect(foreign.setting('Date')).toHaveValue('column:when')
  await page.keyboard.press('ArrowUp')
  await expect(page.getByRole('status').filter({ hasText: 'Still to be set' })).toContainText('Date: choose its column')
  await page.keyboard.press('ArrowDown')
  await foreign.saved.getByLabel('Name').focus()
  await page.keyboard.type('Gauges')
  await page.keyboard.press('Tab')
  await page.keyboard.press('Enter')
  await expect(foreign.saved.getByText('Saved as Gauges.')).toBeVisible()
  await foreign.saved.getByLabel('Name').fill('Gauges north')
  await foreign.saved.getByRole('button', { name: 'Save changes' }).press('Enter')
  await expect(foreign.saved.getByText('Saved as Gauges north.')).toBeVisible()
  await foreign.saved.getByRole('button', { name: 'Remove' }).press('Enter')
  await expect(foreign.saved.getByText('Gauges north is removed.', { exact: false })).toBeVisible()
  // The rows are read anew a moment after the last change; until then nothing can be imported.
  const bringIn = page.getByRole('button', { name: 'Import sensors.txt' })
  await expect(bringIn).toBeEnabled()
  await expect(foreign.storedRows().first()).toContainText('52.0 psi')
  await bringIn.press('Enter')
  await expect(foreign.outcome('Imported')).toBeFocused()
  expect(await smallApp.client.foreign.mappings()).toEqual([])
})

test('nothing that axe finds: at rest, looked into, a file that is not there, refused, stored', async ({
  foreign,
  smallApp,
  page,
}) => {
  await foreign.open()
  expect(await violations(page)).toEqual([])
  await foreign.type(join(smallApp.folder, 'nowhere.csv'))
  await expect(page.getByRole('alert')).toContainText('is not a file on this computer')
  await foreign.another()
  const file = join(smallApp.folder, 'waage.csv')
  writeFileSync(file, Buffer.from(tickets, 'latin1'))
  await foreign.pick(file)
  await foreign.storedRows().first().waitFor()
  expect(await violations(page)).toEqual([])
  await foreign.bringIn('waage.csv')
  await foreign.outcome('Not imported').waitFor()
  expect(await violations(page)).toEqual([])
  await page.getByRole('button', { name: 'Import the good rows and save the others' }).click()
  await foreign.outcome('Imported').waitFor()
  expect(await violations(page)).toEqual([])
})
