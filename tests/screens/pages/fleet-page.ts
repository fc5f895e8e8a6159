import type { Locator, Page } from '@playwright/test'

/** The Fleet, a unit's record and the change log, in their users' words. */
export class FleetPage {
  readonly page: Page
  readonly origin: string

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
  }

  async open(address: string, heading: string | RegExp): Promise<void> {
    await this.page.goto(`${this.origin}/#/${address}`)
    await this.page.getByRole('heading', { name: heading, level: 1 }).waitFor()
  }

  openFleet(): Promise<void> {
    return this.open('fleet', 'Fleet')
  }

  openRecord(unit: string): Promise<void> {
    return this.open(`record/${unit}`, `${unit}, record`)
  }

  openLog(query = ''): Promise<void> {
    return this.open(`log${query}`, 'Change log')
  }

  dialog(name: string | RegExp): Locator {
    return this.page.getByRole('dialog', { name })
  }

  button(name: string | RegExp): Locator {
    return this.page.getByRole('button', { name })
  }

  /** Changes of the log, newest first, as text. */
  get changes(): Locator {
    return this.page.getByRole('table', { name: 'Changes, newest first' }).locator('tbody tr')
  }
}
