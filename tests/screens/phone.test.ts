import { type Page, chromium, expect, test } from '@playwright/test'
import { chromiumArguments, findChromium } from '#tests/screens/chromium.ts'
import { startHouse } from '#tests/screens/house.ts'
import { axeOn, violations } from '#tests/screens/violations.ts'
import { jpegPhoto } from '#tests/store/attachment-samples.ts'

const password = 'four words in a row'
const driver = 'Lou Hart'
const screen = { width: 390, height: 844 }

type House = Awaited<ReturnType<typeof startHouse>>

/** A phone that trusts the house: its browser would keep no files of one that it does not trust. */
async function phone() {
  const browser = await chromium.launch({
    executablePath: findChromium(),
    args: [...chromiumArguments, '--ignore-certificate-errors'],
  })
  const context = await browser.newContext({
    // For the requests that the test itself sends on.
    ignoreHTTPSErrors: true,
    viewport: screen,
    hasTouch: true,
    isMobile: true,
    deviceScaleFactor: 2,
    locale: 'en-US',
    timezoneId: 'America/Denver',
  })
  return { context, page: await context.newPage(), stop: () => browser.close() }
}

/** Lets the driver in by a one-time link, as the manager gives it. */
async function letIn(house: House, page: Page): Promise<void> {
  const { token } = await house.here.people.invite({ name: driver, role: 'driver', units: ['T-101'] })
  await page.goto(`${house.origin}/#/welcome/${token}`)
  await page.getByLabel('Password', { exact: true }).fill(password)
  await page.getByLabel('The same once more').fill(password)
  await page.getByRole('button', { name: 'Keep it and sign in' }).click()
  await expect(page.getByRole('heading', { name: 'Weigh now' })).toBeVisible()
}

/** Once the worker is there, and what is asked in advance has come, the app opens and weighs without the house. */
async function isReady(page: Page): Promise<void> {
  const kept = () =>
    page.evaluate(async () => {
      const worker = (await navigator.serviceWorker.getRegistration())?.active?.state
      const db = await new Promise<IDBDatabase>((resolve) => {
        const opening = indexedDB.open('tareline')
        opening.onsuccess = () => resolve(opening.result)
      })
      const keys = await new Promise<IDBValidKey[]>((resolve) => {
        const asking = db.transaction('answers').objectStore('answers').getAllKeys()
        asking.onsuccess = () => resolve(asking.result)
      })
      db.close()
      const asked = ['weighIn.prepare', 'weigh.preview', 'scales.list'].filter((procedure) =>
        keys.some((key) => String(key).includes(procedure)),
      )
      return [worker, ...asked]
    })
  await expect.poll(kept, { timeout: 60_000 }).toEqual(['activated', 'weighIn.prepare', 'weigh.preview', 'scales.list'])
}

/** How many entries a store of the phone has. */
const storedOn = (page: Page, store: string): Promise<number> =>
  page.evaluate(
    (name) =>
      new Promise<number>((resolve) => {
        const opening = indexedDB.open('tareline')
        opening.onsuccess = () => {
          const asking = opening.result.transaction(name).objectStore(name).count()
          asking.onsuccess = () => {
            opening.result.close()
            resolve(asking.result)
          }
        }
      }),
    store,
  )

const unsent = (page: Page, words: string) => page.getByRole('link', { name: words })
const tickets = async ({ here }: House) => (await here.evidence.tickets({})).rows

test('a ticket with its photo and its weights goes from a phone that loses the house to the record, once', async () => {
  test.setTimeout(150_000)
  const house = await startHouse()
  const { context, page, stop } = await phone()
  try {
    await letIn(house, page)
    await isReady(page)
    const before = (await tickets(house)).length
    await context.setOffline(true)
    await page.goto(`${house.origin}/#/one-ticket`)
    await page.reload()
    await expect(page.getByText('The house does not answer')).toBeVisible()
    await page.getByLabel('Ticket number').fill('P-77')
    await page.getByLabel('T-101 drive, lb').fill('29,400')
    await page.getByLabel('Gross, lb').fill('41,000')
    await page.getByLabel('T-101 drive main').fill('56')
    await page.getByLabel('Photo of the ticket by the camera').setInputFiles({
      name: 'image.jpg',
      mimeType: 'image/jpeg',
      buffer: Buffer.from(jpegPhoto),
    })
    await expect(page.getByRole('img', { name: 'Photo 1 of the ticket' })).toBeVisible()
    // A camera may push the page out of the phone's memory.
    await page.reload()
    await expect(page.getByLabel('Ticket number')).toHaveValue('P-77')
    await expect(page.getByRole('img', { name: 'Photo 1 of the ticket' })).toBeVisible()
    await page.getByRole('button', { name: 'Save the ticket' }).click()
    await expect(page.getByText('Kept here, not yet sent.')).toBeVisible()
    await expect(unsent(page, '1 weighing not yet sent')).toBeVisible()
    await expect(page.getByLabel('Ticket number')).toHaveValue('')

    await page.goto(`${house.origin}/#/weigh`)
    await page.getByLabel('T-101 drive main').fill('48')
    await page.getByRole('button', { name: 'Save as a reading' }).click()
    await expect(unsent(page, '2 weighings not yet sent')).toBeVisible()
    await page.reload()
    await unsent(page, '2 weighings not yet sent').click()
    await expect(page.getByRole('list', { name: 'Not yet sent' }).getByText('Waits for the house.')).toHaveCount(2)
    expect((await tickets(house)).length).toBe(before)

    // The house is back, saves, and its answer is lost on the way.
    let lost = 0
    await context.route('**/rpc/weighIn/save', async (route) => {
      if (lost > 0) return await route.continue()
      lost += 1
      await route.fetch()
      await route.abort('connectionreset')
    })
    await context.setOffline(false)
    await expect(page.getByText('Everything that you saved on this device is in the record.')).toBeVisible({
      timeout: 60_000,
    })
    expect(lost).toBe(1)
    const after = await tickets(house)
    expect(after.length).toBe(before + 1)
    expect(after.find(({ number }) => number === 'P-77')).toMatchObject({
      grossLb: 41_000,
      attachments: 1,
      readings: 1,
      units: ['T-101'],
    })
    const { rows } = await house.here.evidence.readings({})
    expect(rows.filter(({ pressures }) => pressures.some(({ value }) => value === 48))).toHaveLength(1)
    const { rows: logged } = await house.here.log.list({ text: driver })
    expect(logged.length).toBe(4)

    // What the phone kept of the fleet goes with the person.
    expect([await storedOn(page, 'queue'), await storedOn(page, 'photos')]).toEqual([0, 0])
    expect(await storedOn(page, 'answers')).toBeGreaterThan(0)
    await page.getByRole('button', { name: /all screens/ }).click()
    await page.getByRole('button', { name: /^Signed in/ }).click()
    await page.getByRole('button', { name: 'Sign out' }).click()
    await expect(page.getByRole('heading', { name: 'Sign in' })).toBeVisible()
    expect(await storedOn(page, 'answers')).toBe(0)
    await context.setOffline(true)
    await page.reload()
    await expect(page.getByText('The house does not answer')).toBeVisible()
    await expect(page.getByText('T-101')).toHaveCount(0)
  } finally {
    await stop()
    await house.stop()
  }
})

test('a phone that others use is left without the house, and the session ends before anybody else comes in', async () => {
  test.setTimeout(150_000)
  const house = await startHouse()
  const { context, page, stop } = await phone()
  const sessions = async () => (await house.here.people.list()).people.flatMap((person) => person.sessions).length
  try {
    await letIn(house, page)
    await isReady(page)
    await context.setOffline(true)
    await page.getByRole('button', { name: /all screens/ }).click()
    await page.getByRole('button', { name: /^Signed in/ }).click()
    await page.getByRole('button', { name: 'Sign out' }).click()
    await expect(page.getByRole('button', { name: 'Leave this device' })).toBeVisible()
    expect(await violations(page, '[role="dialog"]')).toEqual([])
    await page.screenshot({ path: '/tmp/left.png' })
    await page.getByRole('button', { name: 'Leave this device' }).click()
    await expect(page.getByRole('heading', { name: 'Sign in' })).toBeVisible()
    expect(await storedOn(page, 'answers')).toBe(0)
    await page.reload()
    await expect(page.getByText('The house does not answer')).toBeVisible()
    await expect(page.getByText('T-101')).toHaveCount(0)

    expect(await sessions()).toBe(1)
    await context.setOffline(false)
    await page.reload()
    await expect(page.getByRole('heading', { name: 'Sign in' })).toBeVisible()
    expect(await sessions()).toBe(0)
    // Whoever comes next stays.
    await page.getByLabel('Your name').fill(driver)
    await page.getByLabel('Password', { exact: true }).fill(password)
    await page.getByRole('button', { name: 'Sign in', exact: true }).click()
    await expect(page.getByRole('heading', { name: 'Weigh now' })).toBeVisible()
    await page.reload()
    await expect(page.getByRole('heading', { name: 'Weigh now' })).toBeVisible()
    expect(await sessions()).toBe(1)
  } finally {
    await stop()
    await house.stop()
  }
})

/** What may be tapped on a page and is smaller than a thumb, by its name; a link among words may be. */
const tooSmall = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    [...document.querySelectorAll<HTMLElement>('button, input, select, summary, .bar a, .away a')].flatMap(
      (element) => {
        const { width, height } = element.getBoundingClientRect()
        const isSeen = element.checkVisibility() && !element.closest('.unheard, .skip') && width > 2
        const within = element.closest('.link, p') && element.tagName !== 'BUTTON'
        return isSeen && !within && Math.min(width, height) < 43.5
          ? [
              `${element.tagName} ${element.ariaLabel ?? element.textContent ?? ''} ${element.className} ${width}x${height}`,
            ]
          : []
      },
    ),
  )

const isAsWideAsThePage = (page: Page) =>
  page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth)

/** Words of the screen that stand out from their ground by less than 7 to 1, which the sun asks for. */
async function faint(page: Page): Promise<string[]> {
  const found: string[] = []
  for (const colorScheme of ['dark', 'light'] as const) {
    await page.emulateMedia({ colorScheme })
    const { violations: faults } = await (await axeOn(page))
      .include('.thumbs')
      .options({
        runOnly: { type: 'rule', values: ['color-contrast-enhanced'] },
        rules: { 'color-contrast-enhanced': { enabled: true } },
      })
      .analyze()
    found.push(
      ...faults.flatMap(({ nodes }) =>
        nodes.map(({ target, failureSummary }) => `${colorScheme} ${target.join(' ')}: ${failureSummary}`),
      ),
    )
  }
  return found
}

test('what a phone shows is as large as a thumb, stands out in the sun, and is as wide as the phone', async () => {
  test.setTimeout(300_000)
  const house = await startHouse()
  const { context, page, stop } = await phone()
  try {
    await letIn(house, page)
    await isReady(page)
    await page.getByLabel('T-101 drive main').fill('64')
    await expect(page.getByRole('table').first()).toBeVisible()
    const look = async (name: string) => {
      expect.soft([name, await tooSmall(page)]).toEqual([name, []])
      expect.soft([name, await isAsWideAsThePage(page)]).toEqual([name, true])
      expect.soft([name, await faint(page)]).toEqual([name, []])
      expect.soft([name, await violations(page)]).toEqual([name, []])
    }
    await look('weigh')
    await page.getByRole('button', { name: /all screens/ }).click()
    expect.soft(await tooSmall(page)).toEqual([])
    await page.goto(`${house.origin}/#/one-ticket`)
    await page.getByLabel('Ticket number').fill('P-78')
    await page.getByLabel('Photo of the ticket by the camera').setInputFiles({
      name: 'image.jpg',
      mimeType: 'image/jpeg',
      buffer: Buffer.from(jpegPhoto),
    })
    await expect(page.getByRole('img', { name: 'Photo 1 of the ticket' })).toBeVisible()
    await look('one-ticket')
    await page.getByRole('button', { name: 'Save the ticket' }).click()
    await expect(page.getByText('The ticket has no weight')).toBeVisible()
    await page.getByLabel('Gross, lb').fill('41,000')
    await context.setOffline(true)
    await page.getByRole('button', { name: 'Save the ticket' }).click()
    await expect(page.getByText('Kept here, not yet sent.')).toBeVisible()
    await look('one-ticket-kept')
    await page.goto(`${house.origin}/#/cab-card`)
    await expect(page.getByText('Load to at most')).toBeVisible()
    await page.getByText('Every pressure of drive').click()
    await look('cab-card')
    await page.goto(`${house.origin}/#/unsent`)
    await page.getByRole('heading', { level: 1, name: 'Not yet sent' }).waitFor()
    await look('unsent')
  } finally {
    await stop()
    await house.stop()
  }
})
