import type { Locator, Page } from '@playwright/test'

/** The House Rules in their users' words. */
export class HouseRulesPage {
  readonly page: Page
  readonly origin: string

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
  }

  async open(query = ''): Promise<void> {
    await this.page.goto(`${this.origin}/#/house-rules${query}`)
    await this.page.getByRole('heading', { name: 'House Rules', level: 1 }).waitFor()
    await this.page.getByRole('searchbox', { name: 'Find a rule' }).waitFor()
  }

  row(label: string): Locator {
    return this.page
      .getByRole('row')
      .filter({ has: this.page.getByRole('rowheader', { name: new RegExp(`^${label}`) }) })
  }

  field(label: string): Locator {
    return this.row(label).getByRole('textbox')
  }

  /** Types a value and saves it with Enter. */
  async set(label: string, value: string): Promise<void> {
    await this.field(label).fill(value)
    await this.field(label).press('Enter')
  }

  problem(label: string): Locator {
    return this.row(label).getByRole('alert')
  }

  async labels(): Promise<string[]> {
    return this.page.locator('tbody tr th[scope="row"]').allInnerTexts()
  }
}
