import type { Locator, Page } from '@playwright/test'

/** The Copies screen in its users' words. */
export class CopiesPage {
  readonly page: Page
  readonly origin: string
  readonly table: Locator
  readonly dialog: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.table = page.getByRole('table', { name: 'Copies, newest first' })
    this.dialog = page.getByRole('dialog', { name: /^Restore the copy of/ })
  }

  async open(): Promise<void> {
    await this.page.goto(`${this.origin}/#/copies`)
    await this.page.getByRole('heading', { name: /^Copies of/, level: 1 }).waitFor()
  }

  copy(why: string): Locator {
    return this.table.getByRole('row').filter({ hasText: why })
  }

  keepOne(): Promise<void> {
    return this.page.getByRole('button', { name: 'Copy now' }).click()
  }

  confirm(): Promise<void> {
    return this.dialog.getByRole('button', { name: 'Restore this copy' }).click()
  }
}
