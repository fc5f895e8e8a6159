import type { Browser, Locator, Page } from 'playwright-core'

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
 * Waits until there is something to see, looking at every frame: a locator looks at ever longer intervals, half a
 * second in the end, which would be measured with it.
 */
const isShown = async (page: Page, selector: string): Promise<unknown> =>
  await page.waitForFunction((sought) => document.querySelector(sought) !== null, selector, { polling: 'raf' })

/** How long after a click, by the page's own clock, a note that begins with a text stands on the screen, ms. */
async function clickedUntilSaid(page: Page, button: Locator, text: string): Promise<number> {
  const said = await page.evaluateHandle(
    (words) => ({
      ms: new Promise<number>((resolve) => {
        document.addEventListener(
          'click',
          () => {
            const clicked = performance.now()
            const look = () => {
              const isSaid = Array.from(document.querySelectorAll('output'), ({ textContent }) => textContent)
              if (isSaid.some((note) => note.startsWith(words))) resolve(performance.now() - clicked)
              else requestAnimationFrame(look)
            }
            look()
          },
          { once: true, capture: true },
        )
      }),
    }),
    text,
  )
  await button.click()
  return await said.evaluate(({ ms }) => ms)
}

interface Place {
  readonly origin: string
  readonly unit: string
}

/** Opens a page, and answers how long it took until it was there, ms. */
async function look(page: Page, origin: string, [address, there]: readonly [string, string]): Promise<number> {
  const started = performance.now()
  await page.goto(`${origin}/${address}`)
  await isShown(page, there)
  return performance.now() - started
}

const weighNow = (unit: string) => [`#/weigh/${unit}`, '.weigh-pressure input'] as const

/** Goes through the pages once, as a window has that was open before; on this machine all of them share its cores. */
export async function lookAround({ page }: WindowDesk, { origin, unit }: Place): Promise<void> {
  for (const each of [weighNow(unit), ...looks]) await look(page, origin, each)
}

/**
 * One minute at a window: the pressures of a unit are typed and saved as a reading, and the pages around it looked at.
 * saved and seen are told how long each took, the save from the click, ms.
 */
export async function minuteAtWindow(
  { page }: WindowDesk,
  { origin, unit }: Place,
  { saved, seen }: { saved: (ms: number) => void; seen: (ms: number) => void },
): Promise<void> {
  seen(await look(page, origin, weighNow(unit)))
  const pressures = page.getByRole('group', { name: /^Pressures/ }).getByRole('textbox')
  for (const field of await pressures.all()) await field.fill('62')
  saved(await clickedUntilSaid(page, page.getByRole('button', { name: 'Save as a reading' }), 'Saved as reading'))
  for (const each of looks) seen(await look(page, origin, each))
}
