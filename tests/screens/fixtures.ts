import { test as base, type Page } from '@playwright/test'
import { letIn, startApp, startAppOn, type App } from './app.ts'
import { FolderPage } from './pages/folder-page.ts'
import { RosterPage } from './pages/roster-page.ts'
import { UnitPage } from './pages/unit-page.ts'

export interface Fixtures {
  /** An app with the small fleet; one for all tests of a worker. */
  app: App
  /** The same, for one test to change. */
  smallApp: App
  /** An app with an empty file of its own. */
  emptyApp: App
  roster: RosterPage
  unit: UnitPage
  folder: FolderPage
}

/** Lets a page into an app. The page's clock says what the app's does. */
export async function admit(page: Page, app: App): Promise<void> {
  await page.clock.setSystemTime(app.now())
  await letIn(page.context(), app)
}

export const test = base.extend<Omit<Fixtures, 'app'>, Pick<Fixtures, 'app'>>({
  app: [
    // biome-ignore lint/correctness/noEmptyPattern: the test runner reads the needed fixtures off this pattern
    async ({}, use) => {
      const app = await startAppOn('small')
      await use(app)
      await app.stop()
    },
    { scope: 'worker' },
  ],
  smallApp: async ({ page }, use) => {
    const app = await startAppOn('small')
    await admit(page, app)
    await use(app)
    await app.stop()
  },
  emptyApp: async ({ page }, use) => {
    const app = await startApp()
    await admit(page, app)
    await use(app)
    await app.stop()
  },
  roster: async ({ page, app }, use) => {
    await admit(page, app)
    await use(new RosterPage(page, app.origin))
  },
  unit: async ({ page, app }, use) => {
    await admit(page, app)
    await use(new UnitPage(page, app.origin))
  },
  folder: async ({ page, emptyApp }, use) => {
    await use(new FolderPage(page, emptyApp.origin))
  },
})
export { expect } from '@playwright/test'
