import type { Download, Locator, Page } from '@playwright/test'

/** The About screen in its users' words. */
export class AboutPage {
  readonly page: Page
  readonly origin: string
  readonly packages: Locator
  readonly folders: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.packages = page.getByRole('region', { name: 'Packages and their licenses' }).getByRole('row')
    this.folders = page.getByRole('region', { name: 'Folders that windows may use' }).getByRole('row')
  }

  async open(): Promise<void> {
    await this.page.goto(`${this.origin}/#/about`)
    await this.page.getByRole('heading', { name: 'About Tareline', level: 1 }).waitFor()
  }

  /** What stands beside a word of the list of versions and places. */
  fact(name: string): Locator {
    return this.page.locator('dt', { hasText: new RegExp(`^${name}$`) }).locator('xpath=following-sibling::dd[1]')
  }

  /** Allows a folder by typing and confirming it. */
  async allow(folder: string): Promise<void> {
    await this.page.getByRole('textbox', { name: 'Allow another folder' }).fill(folder)
    await this.page.getByRole('button', { name: 'Allow…' }).click()
    await this.page.getByRole('button', { name: 'Allow this folder' }).click()
  }

  async saveBundle(): Promise<Download> {
    const download = this.page.waitForEvent('download')
    await this.page.getByRole('button', { name: 'Save the support bundle' }).click()
    return await download
  }
}
