import { type App, startAppOn } from './app.ts'
import { admit, test as base } from './fixtures.ts'
import { EvidencePage } from './pages/evidence-page.ts'
import { HouseRulesPage } from './pages/house-rules-page.ts'
import { RosterPage } from './pages/roster-page.ts'
import { ScalesPage } from './pages/scales-page.ts'

interface Fixtures {
  /** The app with the evidence fleet; one for all tests of a worker, which leave it as it is. */
  evidenceApp: App
  /** The same, for one test to change. */
  ownApp: App
  evidence: EvidencePage
  scales: ScalesPage
  /** Screens on `ownApp`. */
  own: { evidence: EvidencePage; scales: ScalesPage; houseRules: HouseRulesPage; roster: RosterPage }
}

export const test = base.extend<Omit<Fixtures, 'evidenceApp'>, Pick<Fixtures, 'evidenceApp'>>({
  evidenceApp: [
    // biome-ignore lint/correctness/noEmptyPattern: the test runner reads the needed fixtures off this pattern
    async ({}, use) => {
      const app = await startAppOn('evidence')
      await use(app)
      await app.stop()
    },
    { scope: 'worker', timeout: 120_000 },
  ],
  ownApp: async ({ page }, use) => {
    const app = await startAppOn('evidence')
    await admit(page, app)
    await use(app)
    await app.stop()
  },
  evidence: async ({ page, evidenceApp }, use) => {
    await admit(page, evidenceApp)
    await use(new EvidencePage(page, evidenceApp.origin))
  },
  scales: async ({ page, evidenceApp }, use) => {
    await admit(page, evidenceApp)
    await use(new ScalesPage(page, evidenceApp.origin))
  },
  own: async ({ page, ownApp: { origin } }, use) => {
    await use({
      evidence: new EvidencePage(page, origin),
      scales: new ScalesPage(page, origin),
      houseRules: new HouseRulesPage(page, origin),
      roster: new RosterPage(page, origin),
    })
  },
})
export { expect } from '@playwright/test'
