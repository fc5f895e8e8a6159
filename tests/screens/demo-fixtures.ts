import type { Page } from '@playwright/test'
import { type App, startApp } from './app.ts'
import { admit, test as base } from './fixtures.ts'
import { HeavyPage } from './pages/heavy-page.ts'
import { ShopPage } from './pages/shop-page.ts'
import { WeighInPage } from './pages/weigh-in-page.ts'
import { WeighPage } from './pages/weigh-page.ts'

/** A Wednesday, whatever the suite's day is: on others no bench works. */
export const workday = Date.parse('2026-11-25T18:00:00Z')

/** What tests leave on the desk of the open file. */
const left = ['person', 'language', 'weigh-now', 'weigh-in', 'foreign csv', 'house rules'] as const

/** Lets a page in as a newcomer's: no name and nothing typed lies on the desk from an earlier test. */
export async function admitNewcomer(page: Page, app: App): Promise<void> {
  for (const name of left) await app.client.desk.leave({ name, text: null })
  await admit(page, app)
}

/**
 * Screens on the demo fleet; one app for all tests of a worker, which add to its record and count on nothing that
 * others add.
 */
export const test = base.extend<
  { weigh: WeighPage; heavy: HeavyPage; shop: ShopPage; weighIn: WeighInPage },
  { demoApp: App }
>({
  demoApp: [
    // biome-ignore lint/correctness/noEmptyPattern: the test runner reads the needed fixtures off this pattern
    async ({}, use) => {
      const app = await startApp({ demo: true, clock: workday })
      await use(app)
      await app.stop()
    },
    { scope: 'worker', timeout: 120_000 },
  ],
  weigh: async ({ page, demoApp }, use) => {
    await admitNewcomer(page, demoApp)
    await use(new WeighPage(page, demoApp.origin))
  },
  shop: async ({ page, demoApp }, use) => {
    await admitNewcomer(page, demoApp)
    await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Adair')))
    await use(new ShopPage(page, demoApp.origin))
  },
  weighIn: async ({ page, demoApp }, use) => {
    await admitNewcomer(page, demoApp)
    await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Adair')))
    await use(new WeighInPage(page, demoApp.origin))
  },
  heavy: async ({ page, demoApp }, use) => {
    await admitNewcomer(page, demoApp)
    await use(new HeavyPage(page, demoApp.origin))
  },
})

export { expect } from '@playwright/test'
