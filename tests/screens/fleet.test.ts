import type { Page } from '@playwright/test'
import { startApp } from './app.ts'
import { admit, expect, test as base } from './fixtures.ts'
import { FleetPage } from './pages/fleet-page.ts'
import { sayName } from './pages/person-dialog.ts'
import { violations } from './violations.ts'

const test = base.extend<{ fleet: FleetPage; empty: FleetPage }>({
  fleet: async ({ page, smallApp }, use) => {
    await use(new FleetPage(page, smallApp.origin))
  },
  empty: async ({ page, emptyApp }, use) => {
    await use(new FleetPage(page, emptyApp.origin))
  },
})

/** Types at the keyboard alone: each part is typed, each key in braces is pressed. */
async function type(page: Page, ...parts: string[]): Promise<void> {
  for (const part of parts) {
    const key = /^\{(.+)\}$/.exec(part)?.[1]
    if (key) await page.keyboard.press(key)
    else await page.keyboard.type(part)
  }
}

test('from an empty file, by keyboard alone: a unit with its groups and sensor in one form, another sensor, and all of it in the log', async ({
  empty,
  emptyApp,
}) => {
  const { page } = empty
  await empty.openFleet()
  await empty.button('Add unit').focus()
  await type(page, '{Enter}')
  const form = empty.dialog('Add a unit')
  await expect(form.getByRole('textbox', { name: 'Number' })).toBeFocused()
  await type(page, 'T-1')
  await form.getByText('VIN, plate, make and model').click()
  await form.getByRole('textbox', { name: 'VIN', exact: true }).fill('1zz ab9cd-5sp000101')
  await expect(form.getByText('The VIN’s tenth character stands for model year 2025 (or 1995)')).toBeVisible()
  await form.getByRole('button', { name: 'Take 2025' }).press('Enter')
  await expect(form.getByRole('textbox', { name: 'Model year' })).toHaveValue('2025')
  await form.getByRole('textbox', { name: 'Gross limit, lb' }).fill('2000000')
  await type(page, '{Enter}')
  await expect(form.getByRole('textbox', { name: 'Gross limit, lb' })).toBeFocused()
  await expect(form.getByRole('textbox', { name: 'Gross limit, lb' })).toHaveAccessibleDescription(
    /2,000,000\slb is out of range; 1 to 1,000,000\slb is accepted\./,
  )
  await page.keyboard.press('ControlOrMeta+a')
  await type(page, '80,000')
  // The drives have an air line for each side: one sensor each, of which one is typed twice.
  await form.getByRole('button', { name: 'Change the groups' }).press('Enter')
  const drive = form.getByRole('group', { name: 'Group 2' })
  await drive.getByRole('combobox', { name: 'Air circuits' }).selectOption('left and right')
  await form.getByRole('textbox', { name: 'Sensor on drive left' }).fill('PA-7')
  await form.getByRole('textbox', { name: 'Sensor on drive right' }).fill('PA-7')
  await form.getByRole('textbox', { name: 'Cell' }).fill('CR2450')
  await form.getByRole('textbox', { name: 'Reports every, s' }).fill('300')
  await type(page, '{Enter}')
  await sayName(page, 'M. Tarn')
  await expect(form.getByRole('textbox', { name: 'Sensor on drive right' })).toHaveAccessibleDescription(
    /PA-7 is typed twice; a sensor sits on one circuit\./,
  )
  await form.getByRole('textbox', { name: 'Sensor on drive right' }).fill('')
  await type(page, '{Enter}')
  await expect(page.getByRole('heading', { name: 'T-1, record' })).toBeVisible()
  await expect(page.getByRole('heading', { name: 'drive', level: 3 })).toBeVisible()
  await expect(page.getByText('1ZZAB9CD5SP000101')).toBeVisible()
  await expect(page.getByRole('listitem').filter({ hasText: 'PA-7' })).toContainText('until now')

  await empty.button('Mount sensor on drive right').press('Enter')
  const mount = empty.dialog('Mount a sensor on T-1 drive right')
  await expect(mount.getByRole('complementary', { name: 'Before working on the vehicle' })).toContainText(
    'Never tee into brake air.',
  )
  await expect(mount.getByRole('combobox', { name: 'Sensor’s serial' })).toBeFocused()
  await type(page, 'PA-8')
  await expect(mount.getByRole('combobox', { name: /Not in the record yet/ })).toBeVisible()
  await mount.getByRole('textbox', { name: 'Cell' }).fill('CR2450')
  await mount.getByRole('textbox', { name: /Cross-check: the gauge showed/ }).fill('60')
  await mount.getByRole('textbox', { name: /and the sensor/ }).fill('74.7')
  await expect(mount.getByText(/gauge and sensor lie 14\.7\spsi apart/)).toBeVisible()
  await type(page, '{Enter}')
  await expect(page.getByText('Saved.')).toBeVisible()
  await expect(page.getByRole('listitem').filter({ hasText: 'PA-8' })).toContainText('until now')
  expect((await emptyApp.client.fleet.sensors({})).rows.map(({ values }) => values)).toMatchObject([
    { serial: 'PA-7', cell: 'CR2450', report_every_s: 300 },
    { serial: 'PA-8', cell: 'CR2450', report_every_s: null },
  ])

  await empty.openLog()
  await expect(empty.changes).toHaveCount(9)
  await expect(empty.changes.first()).toContainText(/M\. Tarn.*T-1.*Mount PA-8 on T-1 drive right.*added/s)
  await page.getByRole('searchbox', { name: 'Find' }).fill('1zzab9')
  await expect(empty.changes).toHaveCount(1)
})

test('says what a change does to the line before it is saved, records the work, and undoes both', async ({ fleet }) => {
  const { page } = fleet
  await fleet.openRecord('T-101')
  await fleet.button('Edit circuit drive main').click()
  const form = fleet.dialog('Edit circuit T-101 drive main')
  const height = form.getByRole('textbox', { name: 'Ride height, in' })
  await height.fill('9.25')
  const question = form.getByRole('group', { name: 'Was the vehicle worked on?' })
  await expect(question).toContainText('saving records height set on T-101 drive main, and its line no longer holds')
  await question.getByRole('textbox', { name: 'Why, for the change log' }).fill('New height rod')

  // Neither the dialog nor the window loses what is typed.
  await page.keyboard.press('Escape')
  await page.reload()
  await fleet.button('Edit circuit drive main').click()
  await expect(form.getByText('Unsaved draft restored.')).toBeVisible()
  await expect(height).toHaveValue('9.25')
  await form.getByRole('button', { name: 'Save' }).click()
  await sayName(page, 'M. Tarn')
  await expect(page.getByText('Saved.')).toBeVisible()
  await page.getByRole('link', { name: 'Unit sheet' }).click()
  await expect(page.getByRole('region', { name: 'Events' })).toContainText('height set')
  await expect(page.getByRole('heading', { name: 'Event since calibration' })).toBeVisible()

  await page.getByRole('link', { name: 'Change log' }).first().click()
  await expect(fleet.changes.nth(1)).toContainText(/Ride height: 8\.5\sin → 9\.25\sin.*Why: New height rod/s)
  await fleet.button('Undo last…').click()
  const undo = fleet.dialog('Undo the last save')
  await expect(undo).toContainText(/Circuit T-101 drive main changed: Ride height 8\.5\sin → 9\.25\sin/)
  await undo.getByRole('button', { name: 'Undo this' }).click()
  await expect(page.getByText('Undone.')).toBeVisible()
  await expect(fleet.changes.first()).toContainText('undone')
  await fleet.open('unit/T-101', 'T-101')
  await expect(page.getByRole('region', { name: 'Events' })).toContainText('No event recorded.')
})

test('two windows on one file: the second sees the first’s change, and a conflict shows both values', async ({
  fleet,
  smallApp,
  context,
}) => {
  const { page } = fleet
  const second = new FleetPage(await context.newPage(), smallApp.origin)
  await fleet.openRecord('V-201')
  await second.openRecord('V-201')
  const edit = async (window: FleetPage, make: string) => {
    await window.button('Edit unit').click()
    const dialog = window.dialog('Edit V-201')
    // The dialog takes the focus to its first field once it is open; what is typed before that would land there.
    await expect(dialog.getByRole('textbox').first()).toBeFocused()
    await dialog.getByRole('textbox', { name: 'Make' }).fill(make)
  }
  await edit(second, 'Talvane')
  await edit(fleet, 'Oxbow')
  await fleet.dialog('Edit V-201').getByRole('button', { name: 'Save' }).click()
  await sayName(page, 'M. Tarn')
  await expect(page.getByText('Saved.')).toBeVisible()
  const late = second.dialog('Edit V-201')
  await late.getByRole('button', { name: 'Save' }).click()
  await expect(late.getByRole('alert')).toContainText('V-201 was changed meanwhile by M. Tarn')
  await expect(late.getByRole('row', { name: /^Make/ })).toContainText(/Quillmarch.*Oxbow.*Talvane/s)
  await late.getByRole('button', { name: 'Keep mine for Make' }).click()
  await late.getByRole('button', { name: 'Save' }).click()
  await expect(second.page.getByText('Saved.')).toBeVisible()
  await expect(page.getByRole('definition').filter({ hasText: 'Talvane' })).toBeVisible({ timeout: 15_000 })
  await second.page.close()
})

test('a unit is copied for the next ones, retired and brought back; work is recorded by hand; a bay sheet is printed', async ({
  fleet,
  smallApp,
}) => {
  const { page } = fleet
  await fleet.openRecord('V-202')
  await fleet.button('Copy…').click()
  const copy = fleet.dialog('Copy V-202')
  await copy.getByRole('textbox', { name: 'How many' }).fill('3')
  await expect(copy.getByRole('textbox', { name: /Their numbers/ })).toHaveValue('V-203\nV-204\nV-205')
  await copy.getByRole('button', { name: 'Add 3 units' }).click()
  await sayName(page, 'M. Tarn')
  await expect(page.getByText('Added V-203, V-204, V-205.')).toBeVisible()
  // Their sensors are typed down one table, Enter by Enter.
  const sensors = fleet.dialog('Sensors of V-203 to V-205')
  await expect(sensors.getByRole('textbox', { name: 'Serial on V-203 tandem main' })).toBeFocused()
  await type(page, 'N-3', '{Enter}', 'N-4', '{Enter}', 'N-5')
  await sensors.getByRole('textbox', { name: 'Cell' }).fill('CR2450')
  await expect(sensors.getByRole('button', { name: 'Mount 3 sensors' })).toBeVisible()
  await sensors.getByRole('textbox', { name: 'Serial on V-205 tandem main' }).fill('N-3')
  await type(page, '{Enter}')
  await expect(sensors.getByRole('textbox', { name: 'Serial on V-205 tandem main' })).toHaveAccessibleDescription(
    /N-3 is typed twice/,
  )
  await sensors.getByRole('textbox', { name: 'Serial on V-205 tandem main' }).fill('N-5')
  await type(page, '{Enter}')
  await expect(page.getByText('Mounted 3 sensors.')).toBeVisible()
  const { groups } = await smallApp.client.fleet.unit({ unit: 'V-204' })
  expect(groups[0]?.circuits[0]?.mounts[0]).toMatchObject({ serial: 'N-4', values: { removed_at: null } })

  await fleet.button('Record work').click()
  const work = fleet.dialog('Record work on V-202')
  await work.getByRole('combobox', { name: 'What was done' }).selectOption('valve replaced')
  await work.getByRole('combobox', { name: 'Where' }).selectOption('tandem, circuit main')
  await expect(
    work.getByText('After this work the line of tandem no longer holds until it is calibrated again.'),
  ).toBeVisible()
  await work.getByRole('button', { name: 'Record event' }).click()
  await expect(page.getByText('Saved.')).toBeVisible()

  const download = page.waitForEvent('download')
  await fleet.button('Bay sheet, PDF').click()
  expect((await download).suggestedFilename()).toMatch(/^bay-sheet-v-202-.*\.pdf$/)

  await fleet.button('Retire…').click()
  await fleet.dialog('V-202').getByRole('button', { name: 'Retire' }).click()
  await expect(page.getByText('V-202 is retired.')).toBeVisible()
  await fleet.openFleet()
  await page.getByRole('region', { name: 'Retired units' }).getByRole('link', { name: 'V-202' }).click()
  await fleet.button('Bring back…').click()
  await fleet.dialog('V-202').getByRole('button', { name: 'Bring back' }).click()
  await expect(page.getByText('V-202 is back in service.')).toBeVisible()
})

test('a dead core loses nothing that was typed', async ({ page }) => {
  const app = await startApp()
  await admit(page, app)
  const fleet = new FleetPage(page, app.origin)
  await fleet.openFleet()
  await fleet.button('Add yard').click()
  const form = fleet.dialog('Add a yard')
  await form.getByRole('textbox', { name: 'Name' }).fill('Brine Flat')
  await form.getByRole('button', { name: 'Add yard' }).click()
  await app.stop()
  await sayName(page, 'M. Tarn')
  await expect(form.getByRole('alert')).toContainText('The app’s core does not answer.')
  await form.getByRole('textbox', { name: /^Elevation/ }).fill('4400')
  await expect(form.getByRole('textbox', { name: 'Name' })).toHaveValue('Brine Flat')
  const kept = await page.evaluate(() => Object.entries(localStorage).find(([key]) => key.endsWith('yard new'))?.[1])
  expect(kept).toContain('4400')
})

test('is clean for axe', async ({ fleet, page }) => {
  test.setTimeout(180_000)
  await fleet.openFleet()
  await page.getByRole('table', { name: 'Sensors' }).waitFor()
  expect(await violations(page)).toEqual([])
  await fleet.button('Add unit').click()
  await fleet.dialog('Add a unit').getByRole('button', { name: 'Add unit' }).click()
  expect(await violations(page)).toEqual([])
  await fleet.openRecord('T-101')
  expect(await violations(page)).toEqual([])
  await fleet.button('Edit circuit drive main').click()
  await fleet
    .dialog(/Edit circuit/)
    .getByRole('textbox', { name: 'Ride height, in' })
    .fill('9')
  expect(await violations(page)).toEqual([])
  await page.keyboard.press('Escape')
  await fleet.button('Mount sensor on drive main').click()
  await fleet
    .dialog(/Mount a sensor/)
    .getByRole('combobox', { name: 'Sensor’s serial' })
    .fill('S-2')
  await fleet
    .dialog(/Mount a sensor/)
    .getByText(/Sensor swapped/)
    .waitFor()
  expect(await violations(page)).toEqual([])
  await fleet.openLog()
  await fleet.changes.first().waitFor()
  expect(await violations(page)).toEqual([])
  await fleet.button('Undo last…').click()
  await expect(fleet.dialog('Undo the last save')).toContainText('Cannot be undone.')
  expect(await violations(page)).toEqual([])
})
