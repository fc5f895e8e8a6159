import type { Browser, Page } from 'playwright-core'

const patienceMs = 60_000

/** A desk at which somebody is signed in, in a real browser. */
export interface WindowDesk {
  readonly at: number
  readonly page: Page
}

/** Opens a window of a house and signs in; trouble is told what the page reports. */
export async function openWindowDesk(
  browser: Browser,
  { origin, at, name, password }: { origin: string; at: number; name: string; password: string },
  trouble: (text: string) => void,
): Promise<WindowDesk> {
  // The browser of a bench has not been handed the house's certificate.
  const context = await browser.newContext({ ignoreHTTPSErrors: true, locale: 'en-US' })
  const page = await context.newPage()
  page.setDefaultTimeout(patienceMs)
  page.on('pageerror', (error) => trouble(`window ${at}: ${error.message}`))
  page.on('crash', () => trouble(`window ${at} crashed`))
  await page.goto(`${origin}/#/roster`)
  await page.getByLabel('Your name').fill(name)
  await page.getByLabel('Password', { exact: true }).fill(password)
  await page.getByRole('button', { name: 'Sign in', exact: true }).click()
  await page.locator('[role=row][aria-rowindex="2"]').waitFor()
  return { at, page }
}

/** Pages that somebody at a desk goes through, and what is there once they have come. */
const looks = [
  ['#/today', '.today-finding'],
  ['#/scale-house?part=tickets', 'main tbody tr'],
  ['#/roster', '[role=row][aria-rowindex="2"]'],
] as const

/**
 * One minute at a window: the pressures of a unit are typed and saved as a reading, and the pages around it looked at.
 * saved and seen are told how long each took, from the click, ms.
 */
export async function minuteAtWindow(
  { page }: WindowDesk,
  { origin, unit }: { origin: string; unit: string },
  { saved, seen }: { saved: (ms: number) => void; seen: (ms: number) => void },
): Promise<void> {
  const timed = async (tell: (ms: number) => void, work: () => Promise<unknown>) => {
    const started = performance.now()
    await work()
    tell(performance.now() - started)
  }
  const pressures = page.getByRole('group', { name: /^Pressures/ }).getByRole('textbox')
  await timed(seen, async () => {
    await page.goto(`${origin}/#/weigh/${unit}`)
    await pressures.first().waitFor()
  })
  for (const field of await pressures.all()) await field.fill('62')
  await timed(saved, async () => {
    await page.getByRole('button', { name: 'Save as a reading' }).click()
    await page.getByText(/^Saved as reading/).waitFor()
  })
  for (const [address, there] of looks)
    await timed(seen, async () => {
      await page.goto(`${origin}/${address}`)
      await page.locator(there).first().waitFor()
    })
}
