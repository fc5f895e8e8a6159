import type { Locator, Page } from '@playwright/test'

/** The Weigh-in in its users' words. */
export class WeighInPage {
  readonly page: Page
  readonly origin: string
  readonly tractor: Locator
  readonly scale: Locator
  readonly save: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.tractor = page.getByRole('combobox', { name: 'Tractor or truck' })
    this.scale = page.getByRole('combobox', { name: 'Scale' })
    this.save = page.getByRole('button', { name: /^Save (the|with|tickets)/ })
  }

  async open(): Promise<void> {
    await this.page.goto(`${this.origin}/#/weigh-in`)
    await this.scale.waitFor()
  }

  async pick(unit: string, scale: string): Promise<void> {
    await this.tractor.click()
    await this.tractor.fill(unit)
    await this.tractor.press('Enter')
    await this.scale.selectOption(scale)
    await this.field('Ticket number', 1).waitFor()
  }

  /** A field of a row, such as `T-109 drive weight` or `T-109 drive left pressure`. */
  field(name: string, row: number): Locator {
    return this.page.getByLabel(`${name}, row ${row}`, { exact: true })
  }

  group(name: string): Locator {
    return this.page.getByRole('region', { name, exact: true })
  }
}
