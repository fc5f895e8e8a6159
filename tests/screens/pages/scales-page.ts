import type { Locator, Page } from '@playwright/test'

/** The Scale House's page of scales in its users' words. */
export class ScalesPage {
  readonly page: Page
  readonly origin: string
  readonly table: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.table = page.getByRole('table', { name: 'Scales', exact: true })
  }

  async open(): Promise<void> {
    await this.page.goto(`${this.origin}/#/scale-house`)
    await this.page.getByRole('heading', { name: 'Scale House', level: 1 }).waitFor()
  }

  row(scale: string): Locator {
    return this.table.getByRole('row').filter({ has: this.page.getByRole('rowheader', { name: scale, exact: true }) })
  }

  bias(scale: string): Locator {
    return this.row(scale).getByRole('img')
  }
}
