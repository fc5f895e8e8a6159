import { mkdirSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { type Browser, type Page, chromium } from '@playwright/test'
import { letIn, startApp } from './app.ts'
import buildOnce from './build-once.ts'
import { startHouse } from './house.ts'
import { chromiumArguments, findChromium } from './chromium.ts'
import { EvidencePage } from './pages/evidence-page.ts'
import { EvidenceSheet } from './pages/evidence-sheet.ts'
import { FolderPage } from './pages/folder-page.ts'
import { ForeignPage } from './pages/foreign-page.ts'
import { HeavyPage } from './pages/heavy-page.ts'
import { HouseRulesPage } from './pages/house-rules-page.ts'
import { RosterPage } from './pages/roster-page.ts'
import { ScalesPage } from './pages/scales-page.ts'
import { ShopPage } from './pages/shop-page.ts'
import { UnitPage } from './pages/unit-page.ts'
import { WeighInPage } from './pages/weigh-in-page.ts'
import { WeighPage } from './pages/weigh-page.ts'

const root = resolve(import.meta.dirname, '../..')
const folder = join(root, 'demo-data/screens')

/** What a scale operator might send: kilograms with a decimal comma, days first, one weight unreadable. */
const weighbridge = [
  'Wiegeschein;Datum;Uhrzeit;Waage;Zugmaschine;Anhänger;Antriebsachse (kg);Anhängerachse (kg)',
  '20417;17.11.2026;06:42;Cinder Gap Yard;T-109;F-308;13.150,5;11.870,0',
  '20418;17.11.2026;07:05;Cinder Gap Yard;T-104;V-202;12.480,0;schwer',
  '20419;17.11.2026;07:31;Cinder Gap Yard;T-111;;8.020,5;',
  '20420;18.11.2026;05:58;Cinder Gap Yard;T-109;F-308;14.210,0;13.400,5',
  '',
].join('\r\n')

/** Types the pressures of T-109 with F-308, and waits for what they weigh. */
async function fillPressures(weigh: WeighPage): Promise<void> {
  for (const [circuit, psi] of [
    ['T-109 drive left', '71.4'],
    ['T-109 drive right', '70.7'],
    ['F-308 spread front', '84'],
    ['F-308 spread rear', '84.5'],
  ] as const)
    await weigh.pressure(circuit).fill(psi)
  await weigh.weight('Gross').locator('.verdict-mark').waitFor()
}

/** Each picture of the README: its name, and the way to what it shows. */
const pictures: Record<string, (page: Page, origin: string) => Promise<void>> = {
  today: async (page, origin) => {
    await page.goto(`${origin}/#/today`)
    await page.locator('.today-finding').first().waitFor()
  },
  'mondays-page': async (page, origin) => {
    await page.goto(`${origin}/#/monday`)
    await page.getByRole('table').first().waitFor()
  },
  roster: async (page, origin) => {
    const roster = new RosterPage(page, origin)
    await roster.open()
    await roster.units.waitFor()
  },
  'unit-sheet': async (page, origin) => {
    const unit = new UnitPage(page, origin)
    await unit.open('T-104')
    await unit.chart.waitFor()
  },
  track: async (page, origin) => {
    const unit = new EvidencePage(page, origin)
    await unit.open('T-111')
    await unit.checks.locator('svg.recharts-surface').first().waitFor()
    await unit.track.evaluate((part) => part.scrollIntoView({ block: 'start', behavior: 'instant' }))
  },
  scales: async (page, origin) => {
    const scales = new ScalesPage(page, origin)
    await scales.open()
    await scales.table.waitFor()
  },
  'ticket-correction': async (page, origin) => {
    const sheet = new EvidenceSheet(page, origin)
    await sheet.openTicket('V-202', '11098')
    await sheet.correct('ticket 11098')
    await sheet.field('V-202 tandem, lb').fill('32100')
    await sheet.form.getByRole('table', { name: /would be refitted/ }).waitFor()
  },
  'heavy-log': async (page, origin) => {
    const heavy = new HeavyPage(page, origin)
    await heavy.open('?sort=overLb')
    await heavy.side.getByRole('img').waitFor()
  },
  offenders: async (page, origin) => {
    await new HeavyPage(page, origin).open('?part=offenders')
    await page.locator('[data-plot="offenders"] svg.recharts-surface').waitFor()
  },
  'weigh-now': async (page, origin) => {
    const weigh = new WeighPage(page, origin)
    await weigh.open('T-109')
    await fillPressures(weigh)
  },
  'weigh-in': async (page, origin) => {
    const visit = new WeighInPage(page, origin)
    await visit.open()
    await visit.pick('T-109', 'Cinder Gap Yard')
    for (const [i, psi] of [18, 45, 68].entries()) {
      const [steerLb, driveLb, spreadLb] = [11_000 + 15 * psi, 4700 + 392 * psi, 3140 + 420 * psi].map(
        (lb) => Math.round(lb / 20) * 20,
      ) as [number, number, number]
      await visit.field('Ticket number', i + 1).fill(String(11_402 + i))
      for (const [name, lb] of [
        ['T-109 steer weight', steerLb],
        ['T-109 drive weight', driveLb],
        ['F-308 spread weight', spreadLb],
        ['Gross', steerLb + driveLb + spreadLb],
      ] as const)
        await visit.field(name, i + 1).fill(String(lb))
      // The trailer's sensors read absolute pressure, 11.7 psi more at this scale.
      for (const [name, own] of [
        ['T-109 drive left', psi],
        ['T-109 drive right', psi + 0.4],
        ['F-308 spread front', psi + 11.7],
        ['F-308 spread rear', psi + 11.6],
      ] as const)
        await visit.field(`${name} pressure`, i + 1).fill(own.toFixed(1))
    }
    await visit.group('T-109 drive').getByRole('img').waitFor()
  },
  'shop-bench': async (page, origin) => {
    const shop = new ShopPage(page, origin)
    await shop.open('?when=all&unit=T-111')
    await shop.work('T-111').getByText('Never tee into brake air.').waitFor()
  },
  'cell-lives': async (page, origin) => {
    await new ShopPage(page, origin).open('?part=lives')
    await page.locator('[data-plot="life"] svg').first().waitFor()
  },
  'house-rules': (page, origin) => new HouseRulesPage(page, origin).open(),
  foreign: async (page, origin) => {
    const foreign = new ForeignPage(page, origin)
    await foreign.open()
    await page
      .getByLabel('CSV file', { exact: true })
      .setInputFiles({ name: 'weighbridge.csv', mimeType: 'text/csv', buffer: Buffer.from(weighbridge, 'latin1') })
    await foreign.storedRows().first().waitFor()
  },
  'bring-in': async (page, origin) => {
    const fleet = new FolderPage(page, origin)
    await fleet.open()
    await fleet.pick(join(root, 'demo-data/fleet'))
    await page.getByRole('heading', { name: /Imported|Nothing new/ }).waitFor({ timeout: 120_000 })
  },
}

/** What a driver sees on a phone: the weights of the units given, and the ticket of a scale. */
async function drawPhone(browser: Browser, origin: string, token: string): Promise<void> {
  const context = await browser.newContext({
    ignoreHTTPSErrors: true,
    viewport: { width: 390, height: 844 },
    hasTouch: true,
    isMobile: true,
    deviceScaleFactor: 2,
    locale: 'en-US',
    timezoneId: 'America/Denver',
  })
  await context.clock.setSystemTime(picturedDay)
  const page = await context.newPage()
  await page.goto(`${origin}/#/welcome/${token}`)
  await page.getByLabel('Password', { exact: true }).fill('four words in a row')
  await page.getByLabel('The same once more').fill('four words in a row')
  await page.getByRole('button', { name: 'Keep it and sign in' }).click()
  const draw = async (name: string) => {
    await page.evaluate(() => document.fonts.ready)
    for (const colorScheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme })
      await page.screenshot({ path: join(folder, `${name}-${colorScheme}.png`) })
      console.log(`${name}-${colorScheme}.png`)
    }
  }
  const weigh = new WeighPage(page, origin)
  await weigh.open('T-109')
  await fillPressures(weigh)
  await page.getByRole('region', { name: 'Weights' }).evaluate((part) => part.scrollIntoView({ behavior: 'instant' }))
  await draw('phone-weigh-now')
  await page.goto(`${origin}/#/one-ticket`)
  await page.getByLabel('Ticket number').fill('11402')
  await page.getByLabel('T-109 drive, lb').fill('32,640')
  await page.getByLabel('Gross, lb').fill('78,220')
  await draw('phone-one-ticket')
  await context.close()
}

/** A house: its people, at the window of its own machine, and the phone of one of its drivers. */
async function drawHouse(browser: Browser): Promise<void> {
  const house = await startHouse({ clock: picturedDay, fleet: join(root, 'demo-data/fleet') })
  try {
    let driverToken = ''
    for (const [name, role, units] of [
      ['M. Adair', 'manager', []],
      ['J. Tarn', 'owner', []],
      ['P. Holm', 'shop', []],
      ['C. Reeve', 'counter', []],
      ['L. Marsh', 'driver', ['T-109', 'F-308']],
    ] as const) {
      const { token } = await house.here.people.invite({ name, role, units: [...units] })
      if (role === 'driver') driverToken = token
    }
    await drawPhone(browser, house.origin, driverToken)
    for (const colorScheme of ['light', 'dark'] as const) {
      const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, colorScheme, locale: 'en-US' })
      await letIn(context, house.ownWindow)
      await context.clock.setSystemTime(picturedDay)
      const page = await context.newPage()
      await page.goto(`${house.ownWindow.origin}/#/people`)
      await page.getByRole('button', { name: 'L. Marsh' }).waitFor()
      await page.evaluate(() => document.fonts.ready)
      await page.screenshot({ path: join(folder, `people-${colorScheme}.png`) })
      await context.close()
    }
  } finally {
    await house.stop()
  }
}

/** The pictures' own day: a Wednesday, the day after the demo's story ends. */
const picturedDay = Date.parse('2026-11-25T18:00:00Z')

/** Draws the README's pictures from the demo fleet, light and dark. */
async function draw(): Promise<void> {
  mkdirSync(folder, { recursive: true })
  await buildOnce()
  const app = await startApp({ demo: true, clock: picturedDay })
  const browser = await chromium.launch({ executablePath: findChromium(), args: chromiumArguments })
  try {
    for (const colorScheme of ['light', 'dark'] as const) {
      const context = await browser.newContext({
        viewport: { width: 1280, height: 800 },
        colorScheme,
        locale: 'en-US',
        timezoneId: 'America/Denver',
      })
      await letIn(context, app)
      await context.clock.setSystemTime(picturedDay)
      for (const [name, show] of Object.entries(pictures)) {
        const page = await context.newPage()
        await show(page, app.origin)
        await page.evaluate(() => document.fonts.ready)
        await page.screenshot({ path: join(folder, `${name}-${colorScheme}.png`) })
        await page.close()
        // What is typed and not saved stays on the desk: the other scheme begins without it.
        for (const draft of ['weigh-now', 'weigh-in', 'foreign csv'])
          await app.client.desk.leave({ name: draft, text: null })
        console.log(`${name}-${colorScheme}.png`)
      }
      await context.close()
    }
    await drawHouse(browser)
  } finally {
    await browser.close()
    await app.stop()
  }
}

await draw()
