import type { Download, Locator, Page } from '@playwright/test'

/** The About screen in its users' words. */
export class AboutPage {
  readonly page: Page
  readonly origin: string
  readonly packages: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.packages = page.getByRole('region', { name: 'Packages and their licences' }).getByRole('row')
  }

  async open(): Promise<void> {
    await this.page.goto(`${this.origin}/#/about`)
    await this.page.getByRole('heading', { name: 'About Tareline', level: 1 }).waitFor()
  }

  /** What stands beside a word of the list of versions and places. */
  fact(name: string): Locator {
    return this.page.locator('dt', { hasText: new RegExp(`^${name}$`) }).locator('xpath=following-sibling::dd[1]')
  }

  async saveBundle(): Promise<Download> {
    const download = this.page.waitForEvent('download')
    await this.page.getByRole('button', { name: 'Save the support bundle' }).click()
    return await download
  }
}
