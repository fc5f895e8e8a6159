import type { Locator, Page } from '@playwright/test'
import { jpegPhoto } from '#tests/store/attachment-samples.ts'
import { admitNewcomer, expect, test } from './demo-fixtures.ts'
import { EvidenceSheet } from './pages/evidence-sheet.ts'
import { FleetPage } from './pages/fleet-page.ts'
import { HouseRulesPage } from './pages/house-rules-page.ts'
import { personDialog } from './pages/person-dialog.ts'
import { UnitPage } from './pages/unit-page.ts'
import { WeighInPage } from './pages/weigh-in-page.ts'
import { WeighPage } from './pages/weigh-page.ts'

/**
 * Whether a person can see and hit every part of it: at its middle, its corners and its field it is what lies on top.
 */
const isOnTop = (dialog: Locator): Promise<boolean> =>
  dialog.evaluate((box) => {
    const inset = 6
    const { left, right, top, bottom } = box.getBoundingClientRect()
    const field = box.querySelector('input')?.getBoundingClientRect()
    if (!field) return false
    return [
      [(left + right) / 2, (top + bottom) / 2],
      [left + inset, top + inset],
      [right - inset, top + inset],
      [left + inset, bottom - inset],
      [right - inset, bottom - inset],
      [(field.left + field.right) / 2, (field.top + field.bottom) / 2],
    ].every(([x = 0, y = 0]) => box.contains(document.elementFromPoint(x, y)))
  })

interface At {
  readonly page: Page
  readonly origin: string
}
const fleetAt = ({ page, origin }: At) => new FleetPage(page, origin)

/** Opens a form of a unit's record, and answers it. */
async function onRecord(at: At, button: string | RegExp): Promise<Locator> {
  const fleet = fleetAt(at)
  await fleet.openRecord('T-104')
  await fleet.button(button).first().click()
  const form = at.page.getByRole('dialog')
  await form.waitFor()
  return form
}

async function onFleet(at: At, button: string, name: string, label = 'Name'): Promise<void> {
  const fleet = fleetAt(at)
  await fleet.openFleet()
  await fleet.button(button).first().click()
  const form = at.page.getByRole('dialog')
  await form.getByRole('textbox', { name: label, exact: true }).fill(name)
  await at.page.keyboard.press('Enter')
}

const save = (form: Locator, name: string) => form.getByRole('button', { name, exact: true }).click()

/** Every form that saves, filled in and sent off: those in a dialog, then those on their screen. */
const inDialogs: Readonly<Record<string, (at: At) => Promise<void>>> = {
  'a new unit': (at) => onFleet(at, 'Add unit', 'Z-900', 'Number'),
  'a new yard': (at) => onFleet(at, 'Add yard', 'Nowhere'),
  'a new scale': (at) => onFleet(at, 'Add scale', 'Nowhere'),
  'a new sensor': (at) => onFleet(at, 'Add sensor', 'S-900', 'Serial'),
  'a unit': async (at) => save(await onRecord(at, 'Edit unit'), 'Save'),
  'a copy of a unit': async (at) => {
    const form = await onRecord(at, 'Copy…')
    await expect(form.getByLabel('Their numbers, one a line')).not.toHaveValue('')
    await form.getByRole('button', { name: /^Add \d+ units$/ }).click()
  },
  'a unit out of service': async (at) => save(await onRecord(at, 'Retire…'), 'Retire'),
  'work on a unit': async (at) => {
    const form = await onRecord(at, 'Record work')
    await form.getByRole('combobox', { name: 'What was done' }).selectOption({ index: 1 })
    await save(form, 'Record event')
  },
  'an axle group': async (at) => save(await onRecord(at, /^Edit axle group/), 'Save'),
  'a circuit': async (at) => save(await onRecord(at, /^Edit circuit/), 'Save'),
  'a new circuit': async (at) => {
    const form = await onRecord(at, /^Add circuit/)
    await form.getByRole('textbox', { name: 'Name', exact: true }).fill('spare')
    await save(form, 'Add circuit')
  },
  'a mounting': async (at) => {
    const form = await onRecord(at, /^Mount sensor on/)
    await form.getByRole('combobox', { name: 'Sensor’s serial' }).fill('S-901')
    await save(form, 'Mount sensor')
  },
  'an installation': async (at) => save(await onRecord(at, /^Installation of/), 'Save'),
  'an attachment taken off': async ({ page, origin }) => {
    const sheet = new EvidenceSheet(page, origin)
    const tickets = await sheet.list('Tickets', '?unit=T-104')
    await tickets.getByRole('link').first().click()
    await page.getByRole('button', { name: /^Remove/ }).click()
    await page.getByRole('dialog').getByLabel('Reason').fill('Another ticket')
    await save(page.getByRole('dialog'), 'Remove')
  },
  'a voided calibration': async ({ page, origin }) => {
    await new UnitPage(page, origin).open('T-104', '?group=drive')
    await page.getByRole('button', { name: /^Void/ }).first().click()
    await page.getByRole('dialog').getByLabel('Reason').fill('Wrong trailer')
    await save(page.getByRole('dialog'), 'Void the calibration')
  },
  'a finding set aside': async ({ page, origin }) => {
    await new UnitPage(page, origin).open('T-136')
    await page
      .getByRole('button', { name: /^Set aside/ })
      .first()
      .click()
    await page.getByRole('dialog').getByLabel('Reason').fill('Seen to')
    await save(page.getByRole('dialog'), 'Set aside')
  },
  'a save taken back': async ({ page, origin }) => {
    await page.goto(`${origin}/#/log`)
    await page.getByRole('button', { name: 'Undo last…' }).click()
    await save(page.getByRole('dialog'), 'Undo this')
  },
  'cells marked swapped': async ({ page, origin }) => {
    await page.goto(`${origin}/#/shop?when=all&unit=T-104`)
    await page.getByRole('button', { name: /^Mark its/ }).click()
    await save(page.getByRole('dialog'), 'Mark swapped')
  },
}

const onScreens: Readonly<Record<string, (at: At) => Promise<void>>> = {
  'a reading': async ({ page, origin }) => {
    const weigh = new WeighPage(page, origin)
    await weigh.open()
    await weigh.pick('T-104')
    await weigh.pressure('').first().fill('50')
    await save(page.locator('main'), 'Save as a reading')
  },
  'a correction': async ({ page, origin }) => {
    const sheet = new EvidenceSheet(page, origin)
    const tickets = await sheet.list('Tickets', '?unit=T-104')
    await tickets.getByRole('link').first().click()
    await page
      .getByRole('button', { name: /^Correct… ticket/ })
      .first()
      .click()
    await sheet.field('Why, for the change log').fill('Misread')
    await save(sheet.form, 'Correct')
  },
  'a visit to the scale': async ({ page, origin }) => {
    const weighIn = new WeighInPage(page, origin)
    await weighIn.open()
    await weighIn.tractor.click()
    await weighIn.tractor.fill('T-104')
    await weighIn.tractor.press('Enter')
    await weighIn.scale.selectOption({ index: 1 })
    await weighIn.field('Ticket number', 1).fill('900')
    await weighIn.field('Gross', 1).fill('30000')
    await weighIn.save.click()
  },
  'a House Rule': async ({ page, origin }) => {
    const rules = new HouseRulesPage(page, origin)
    await rules.open()
    await rules.set('Oldest calibration that still counts', '180')
  },
  'the fleet’s time zone': async ({ page, origin }) => {
    await page.goto(`${origin}/#/house-rules`)
    await page.getByRole('combobox', { name: /time zone/i }).fill('Phoenix')
    await page.getByRole('option', { name: 'America/Phoenix' }).click()
    await save(page.locator('main'), 'Save the time zone')
  },
  'a calibration of tickets on record': async ({ page, origin }) => {
    await page.goto(`${origin}/#/calibrate/T-104?group=drive`)
    await page.getByRole('button', { name: 'Take all' }).click()
    await save(page.locator('main'), 'Calibrate T-104 drive')
  },
  'a driver’s note': async ({ page, origin }) => {
    await page.goto(`${origin}/#/heavy`)
    await page.getByRole('textbox', { name: 'Driver’s note' }).fill('Wet gravel')
    await save(page.locator('main'), 'Save note')
  },
  'a planned visit': async ({ page, origin }) => {
    await page.goto(`${origin}/#/shop?when=all&unit=T-104`)
    await page.getByLabel('It comes in on').fill('2060-03-01')
    await save(page.locator('main'), 'Plan visit')
  },
  'a mapping': async ({ page, origin }) => {
    await page.goto(`${origin}/#/foreign`)
    await page
      .getByLabel('CSV file')
      .setInputFiles({ name: 'some.csv', mimeType: 'text/csv', buffer: Buffer.from('Ticket,Unit\n1,T-104\n') })
    await page.getByRole('textbox', { name: 'Name', exact: true }).fill('Some tickets')
    await save(page.locator('main'), 'Save mapping')
  },
  'an attachment': async ({ page, origin }) => {
    const tickets = await new EvidenceSheet(page, origin).list('Tickets', '?unit=T-104')
    await tickets.getByRole('link').first().click()
    await page
      .getByLabel(/^Scan or photo of ticket/)
      .setInputFiles({ name: 'photo.jpg', mimeType: 'image/jpeg', buffer: Buffer.from(jpegPhoto) })
  },
}

test.beforeAll(async ({ demoApp: { client } }) => {
  const { rows } = await client.evidence.tickets({ unit: 'T-104' })
  const ticketId = rows[0]?.id
  if (ticketId === undefined) throw new Error('T-104 of the demo fleet has no ticket')
  await client.attachment.add({ ticketId, file: new File([Uint8Array.from(jpegPhoto)], 'kept.jpg'), by: 'M. Adair' })
})

const widths = [
  { width: 1280, height: 800 },
  { width: 390, height: 844 },
]

for (const [what, send] of Object.entries({ ...inDialogs, ...onScreens })) {
  test(`who is at the counter is asked on top of ${what}`, async ({ page, demoApp }) => {
    await admitNewcomer(page, demoApp)
    await send({ page, origin: demoApp.origin })
    const asked = personDialog(page)
    await expect(asked.getByRole('combobox', { name: 'Your name' })).toBeFocused()
    for (const size of widths) {
      await page.setViewportSize(size)
      await expect.poll(() => isOnTop(asked)).toBe(true)
    }
    // Esc ends the question only: the form that asked stays with what was typed, and nothing is saved.
    await page.keyboard.press('Escape')
    await expect(asked).toBeHidden()
    await expect(page.getByRole('dialog')).toHaveCount(what in inDialogs ? 1 : 0)
  })
}
