import type { Locator, Page } from '@playwright/test'
import { expect, test as base } from './fixtures.ts'
import { FleetPage } from './pages/fleet-page.ts'
import { personDialog } from './pages/person-dialog.ts'
import { UnitPage } from './pages/unit-page.ts'
import { WeighInPage } from './pages/weigh-in-page.ts'

/**
 * Counts what a person does. Seconds of the keystroke-level model (Card, Moran & Newell 1980), values from memory: 0.2
 * a key of a practised typist, 1.1 to point, 1.35 to think before a new field or command.
 */
class Typist {
  readonly page: Page
  keys = 0
  clicks = 0
  thoughts = 0

  constructor(page: Page) {
    this.page = page
  }

  async click(target: Locator): Promise<void> {
    this.clicks += 1
    this.thoughts += 1
    await target.click()
  }

  async press(key: string): Promise<void> {
    this.keys += 1
    await this.page.keyboard.press(key)
  }

  async type(text: string): Promise<void> {
    this.thoughts += 1
    this.keys += text.length
    await this.page.keyboard.type(text)
  }

  /** Points at a field and types over what is there. */
  async fill(field: Locator, text: string): Promise<void> {
    await this.click(field)
    await this.press('ControlOrMeta+a')
    this.keys += text.length
    await this.page.keyboard.type(text)
  }

  /** A click on a list, and one on what is chosen. */
  async choose(list: Locator, option: string): Promise<void> {
    this.clicks += 2
    this.thoughts += 1
    await list.selectOption(option)
  }

  get seconds(): number {
    return this.keys * 0.2 + this.clicks * 1.1 + this.thoughts * 1.35
  }
}

const test = base.extend<{ typist: Typist }>({
  typist: async ({ page }, use) => {
    await use(new Typist(page))
  },
})

const loads = [
  { steerLb: 11_000, drivePsi: 18, tandemPsi: 12 },
  { steerLb: 11_600, drivePsi: 45, tandemPsi: 38 },
  { steerLb: 12_000, drivePsi: 68, tandemPsi: 64 },
]
/** What the scale shows at a pressure, on lines of this test's own. */
const driveLb = (psi: number) => 4700 + 392 * psi
const tandemLb = (psi: number) => 4000 + 440 * psi

test('from an empty file by hand: two units, three loads, a line, a cab card, a void, and all of it in the log, in under five minutes', async ({
  emptyApp,
  page,
  typist,
}) => {
  test.setTimeout(90_000)
  const fleet = new FleetPage(page, emptyApp.origin)
  await fleet.openFleet()
  const bar = page.getByRole('navigation', { name: 'Screens' })
  /** By the section of the bar where the screen is of another than the present one. */
  const goTo = async (screen: string, section?: string) => {
    if (section !== undefined) await typist.click(bar.getByRole('link', { name: section, exact: true }).first())
    await typist.click(bar.getByRole('link', { name: screen, exact: true }))
  }

  const addUnit = async (number: string, kind: string) => {
    await typist.click(fleet.button('Add unit').first())
    const form = fleet.dialog('Add a unit')
    await expect(form.getByRole('textbox', { name: 'Number' })).toBeFocused()
    await typist.type(number)
    if (kind !== 'tractor') await typist.choose(form.getByRole('combobox', { name: 'Kind' }), kind)
    else await typist.fill(form.getByRole('textbox', { name: 'Gross limit, lb' }), '80000')
    await typist.click(form.getByRole('button', { name: 'Add unit' }))
    if (kind === 'tractor') {
      await expect(personDialog(page).getByRole('combobox', { name: 'Your name' })).toBeFocused()
      await typist.type('M. Tarn')
      await typist.press('Enter')
    }
    await expect(page.getByRole('heading', { name: `${number}, record` })).toBeVisible()
  }
  const mount = async (serial: string) => {
    await typist.click(fleet.button(/^Mount sensor on/).first())
    const form = fleet.dialog(/^Mount a sensor on/)
    await expect(form.getByRole('combobox', { name: 'Sensor’s serial' })).toBeFocused()
    await typist.type(serial)
    await form.getByRole('combobox', { name: /Not in the record yet/ }).waitFor()
    await typist.press('Enter')
    await expect(page.getByText('Saved.')).toBeVisible()
  }
  await addUnit('T-1', 'tractor')
  await mount('PA-1')
  await goTo('Fleet')
  await addUnit('V-1', 'trailer')
  await mount('PA-2')
  await goTo('Fleet')
  await typist.click(fleet.button('Add scale'))
  const scale = fleet.dialog('Add a scale')
  await typist.fill(scale.getByRole('textbox', { name: 'Name' }), 'Brine Flat')
  await typist.fill(scale.getByRole('textbox', { name: /^Division/ }), '20')
  await typist.press('Enter')
  await expect(page.getByText('Saved.')).toBeVisible()

  const weighIn = new WeighInPage(page, emptyApp.origin)
  await goTo('Weigh-in', 'Scale House')
  await typist.click(weighIn.tractor)
  await typist.type('T-1')
  await typist.press('Enter')
  await typist.click(page.getByRole('combobox', { name: /^Trailers/ }))
  await typist.type('V-1')
  await typist.press('Enter')
  await typist.press('Escape')
  await typist.choose(weighIn.scale, 'Brine Flat')
  for (const [i, { steerLb, drivePsi, tandemPsi }] of loads.entries()) {
    const row = page.locator('.visit-rows tbody').nth(i)
    await typist.click(weighIn.field('Ticket number', i + 1))
    await typist.type(`800${i + 1}`)
    const figures = [
      steerLb,
      driveLb(drivePsi),
      tandemLb(tandemPsi),
      steerLb + driveLb(drivePsi) + tandemLb(tandemPsi),
      drivePsi,
      tandemPsi,
    ]
    const fields = row.locator('input[inputmode="decimal"]')
    await expect(fields).toHaveCount(figures.length)
    // The time stands there already: one click passes its parts, then Tab leads on.
    await typist.click(fields.first())
    for (const figure of figures) {
      await typist.type(String(figure))
      await typist.press('Tab')
    }
  }
  const drive = weighIn.group('T-1 drive')
  await expect(drive).toContainText('the points agree')
  await expect(drive.getByRole('img', { name: /^Line of 3 points/ })).toBeVisible()
  await typist.click(weighIn.save)
  await expect(page.getByText('Saved: 3 tickets, 2 calibrations.')).toBeVisible()

  await typist.click(page.getByRole('link', { name: 'T-1', exact: true }))
  const unit = new UnitPage(page, emptyApp.origin)
  await expect(unit.page.getByRole('heading', { name: 'T-1', level: 1 })).toBeVisible()
  const [card] = await Promise.all([
    page.waitForEvent('download'),
    typist.click(page.getByRole('button', { name: 'Cab card', exact: true })),
  ])
  expect(card.suggestedFilename()).toMatch(/^cab-card-t-1-.*\.pdf$/)
  const calibrations = page.getByRole('table', { name: 'Calibrations, newest first' })
  await expect(calibrations.locator('tbody tr').first()).toContainText('in force')
  await typist.click(calibrations.getByRole('button', { name: /^Void/ }))
  const dialog = page.getByRole('dialog')
  await typist.fill(dialog.getByLabel('Reason'), 'Wrong trailer')
  await typist.click(dialog.getByRole('button', { name: 'Void the calibration' }))
  await expect(calibrations.locator('tbody tr').first()).toContainText('void since')

  await goTo('Change log', 'Records')
  await expect(fleet.changes.first()).toContainText(/M\. Tarn.*T-1.*T-1 drive.*voided.*Wrong trailer/s)
  for (const part of [
    'Mount PA-1 on T-1 drive main',
    'Mount PA-2 on V-1 tandem main',
    '8001 of Brine Flat',
    '8002 of Brine Flat',
    '8003 of Brine Flat',
  ]) {
    await expect(fleet.changes.filter({ hasText: part }).first()).toContainText(/M\. Tarn.*added/s)
  }
  for (const [what, name] of [
    ['Unit', 'T-1'],
    ['Unit', 'V-1'],
    ['Scale', 'Brine Flat'],
    ['Calibration', 'V-1 tandem'],
  ] as const) {
    await expect(fleet.changes.filter({ hasText: new RegExp(`${what} ${name}`) }).first()).toContainText('added')
  }

  const { keys, clicks, thoughts, seconds } = typist
  const counted = `${keys} keys, ${clicks} clicks, ${thoughts} pauses to think: ${Math.round(seconds)} s`
  test.info().annotations.push({ type: 'typist', description: counted })
  expect(seconds, counted).toBeLessThan(300)
})
