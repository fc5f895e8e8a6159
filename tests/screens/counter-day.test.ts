import type { Locator, Page } from '@playwright/test'
import { machineZone } from '#core/store/clock.ts'
import { addDays, dayOf } from '#core/words/day.ts'
import type { App } from './app.ts'
import { expect, test } from './fixtures.ts'
import { WeighInPage } from './pages/weigh-in-page.ts'
import { WeighPage } from './pages/weigh-page.ts'
import { violations } from './violations.ts'
import { typedScale } from '#tests/fleet/typed.ts'

const by = 'M. Tarn'
const hourMs = 3_600_000

/** One truck, one trailer, one scale; the truck's sensor is said to be on it since this morning only. */
async function smallOperator({ client, now }: App): Promise<void> {
  await client.fleet.save(typedScale('Brine Flat', by))
  const unit = (number: string, kind: string, group: string, role: string, serial: string, hoursAgo: number) =>
    client.fleet.addUnit({
      values: { number, kind },
      groups: [
        ...(kind === 'tractor'
          ? [{ values: { name: 'steer', role: 'steer', axles: 1, measured_by: 'estimate' }, circuits: [] }]
          : []),
        {
          values: { name: group, role, axles: 2, first_axle_ft: kind === 'tractor' ? 16 : 30, measured_by: 'circuit' },
          circuits: [{ values: { name: 'main' }, serial }],
        },
      ],
      mountedAt: new Date(now() - hoursAgo * hourMs).toISOString(),
      newReference: 'gauge',
      sensor: { cell: 'CR2450', report_every_s: 300 },
      localZone: null,
      by,
    })
  await unit('T-1', 'tractor', 'drive', 'drive', 'PA-1', 1)
  await unit('V-1', 'trailer', 'tandem', 'trailer', 'PA-2', 24 * 30)
}

const loads = [
  { number: '8001', at: 'yesterday 9:05 am', steerLb: 10_920, drivePsi: 18, tandemPsi: 12 },
  { number: '8002', at: 'yesterday 1:30 pm', steerLb: 11_040, drivePsi: 45, tandemPsi: 38 },
  { number: '8003', at: 'yesterday 1640', steerLb: 11_100, drivePsi: 68, tandemPsi: 64 },
]
const driveLb = (psi: number) => 4700 + 400 * psi
const tandemLb = (psi: number) => 4000 + 440 * psi

interface Hand {
  /** Types into a field: reached by the Tab key from the one before, or clicked. */
  type(field: Locator, text: string): Promise<void>
  /** Takes a step: a button or a link. */
  take(step: Locator): Promise<void>
}

const hands: Readonly<Record<string, (page: Page) => Hand>> = {
  keyboard: (page) => ({
    type: async (field, text) => {
      for (let tabs = 0; tabs < 3 && !(await field.evaluate((each) => each === document.activeElement)); tabs += 1)
        await page.keyboard.press('Tab')
      await expect(field).toBeFocused()
      await page.keyboard.press('ControlOrMeta+a')
      await page.keyboard.type(text)
    },
    take: async (step) => {
      await step.focus()
      await page.keyboard.press('Enter')
    },
  }),
  mouse: () => ({
    type: async (field, text) => {
      await field.click()
      await field.fill(text)
    },
    take: (step) => step.click(),
  }),
}

/** On a phone every field and step is as large as a thumb. */
async function expectThumbs(page: Page, fields: Locator): Promise<void> {
  const heights = await fields.evaluateAll((all) => all.map((each) => each.getBoundingClientRect().height))
  expect(heights.length).toBeGreaterThan(0)
  expect(Math.min(...heights)).toBeGreaterThanOrEqual(44)
  // What is typed needs no sideways scrolling.
  expect(await page.locator('main').evaluate((main) => main.scrollWidth - main.clientWidth)).toBeLessThanOrEqual(0)
}

for (const width of [1280, 390])
  for (const [way, handOf] of Object.entries(hands))
    test(`the counter’s day at ${width} by ${way}: yesterday’s tickets, a wrong date put right, lines, a weight`, async ({
      emptyApp: app,
      page,
    }) => {
      test.setTimeout(180_000)
      await page.setViewportSize({ width, height: width === 390 ? 844 : 800 })
      await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Tarn')))
      await smallOperator(app)
      const yesterday = addDays(dayOf(app.now(), machineZone()), -1)
      const hand = handOf(page)
      const weighIn = new WeighInPage(page, app.origin)
      await weighIn.open()
      // What can only be one thing is chosen already; a trailer that came along stays when it is typed as well.
      await expect(weighIn.tractor).toHaveValue(/^T-1/)
      await expect(weighIn.scale).toHaveValue('Brine Flat')
      const trailers = page.getByRole('combobox', { name: /^Trailers/ })
      const chosen = page.locator('.mantine-Pill-root').filter({ hasText: 'V-1' })
      await expect(chosen).toHaveCount(1)
      await trailers.click()
      await page.keyboard.type('V-1')
      await page.keyboard.press('Enter')
      await page.keyboard.press('Escape')
      await expect(chosen).toHaveCount(1)

      // Ctrl+Z takes back what is typed in the field, and nothing that is saved.
      const { revision } = await app.client.file.state()
      await weighIn.field('Ticket number', 1).click()
      await page.keyboard.type('9')
      await page.keyboard.press('ControlOrMeta+z')
      await expect(weighIn.field('Ticket number', 1)).toHaveValue('')
      expect((await app.client.file.state()).revision).toBe(revision)

      for (const [i, { number, at, steerLb, drivePsi, tandemPsi }] of loads.entries()) {
        const figures = {
          'Ticket number': number,
          'Weighed at': at,
          'T-1 drive weight': driveLb(drivePsi),
          'T-1 steer weight': steerLb,
          'V-1 tandem weight': tandemLb(tandemPsi),
          Gross: driveLb(drivePsi) + steerLb + tandemLb(tandemPsi),
          'T-1 drive main pressure': drivePsi,
          'V-1 tandem main pressure': tandemPsi,
        }
        for (const [field, text] of Object.entries(figures)) await hand.type(weighIn.field(field, i + 1), String(text))
      }
      await expect(weighIn.field('Weighed at', 3)).toHaveAccessibleDescription(
        new RegExp(`^read as ${yesterday} 16:40`),
      )
      const drive = weighIn.group('T-1 drive')
      await expect(drive).toContainText('the date of the mounting is the likely error')
      if (width === 390)
        await expectThumbs(page, page.locator('.visit-rows input:not([type="datetime-local"]), .visit-actions button'))
      expect(await violations(page, width === 390 ? 'main' : 'html')).toEqual([])

      await hand.take(drive.getByRole('link', { name: 'Correct the date of its mounting' }))
      const installation = page.getByRole('dialog', { name: 'Installation of PA-1 on T-1 drive main' })
      await expect(installation.getByLabel('Mounted at')).toHaveValue(`${yesterday} 09:05`)
      await hand.take(installation.getByRole('button', { name: 'Save' }))
      await expect(page.getByText('Saved.')).toBeVisible()

      await weighIn.open()
      await expect(page.getByText('Unsaved draft restored.')).toBeVisible()
      await expect(weighIn.group('T-1 drive')).toContainText('becomes sound')
      await hand.take(weighIn.save)
      await expect(page.getByText('Saved: 3 tickets, 2 calibrations.')).toBeVisible()

      await hand.take(page.getByRole('link', { name: 'weigh it now' }))
      const weigh = new WeighPage(page, app.origin)
      await weigh.pressure('T-1 drive').click()
      await hand.type(weigh.pressure('T-1 drive'), '60')
      await hand.type(weigh.pressure('V-1 tandem'), '50')
      const weights = page.getByRole('region', { name: 'Weights' })
      await expect(weights).toContainText(/28,7\d0/)
      await expect(weights).toContainText(/26,0\d0/)
      if (width === 390)
        await expectThumbs(page, page.locator('.weigh-typing input:not([type="datetime-local"], [type="hidden"])'))
      expect(await violations(page, width === 390 ? 'main' : 'html')).toEqual([])
      await hand.take(page.getByRole('button', { name: 'Save as a reading' }))
      await expect(page.getByText('Saved as reading')).toBeVisible()
      const { readings, groups } = await app.client.unit.sheet({ unit: 'T-1' })
      expect(readings).toHaveLength(4)
      expect(groups.find(({ name }) => name === 'drive')?.trust).toBe('sound')
    })
