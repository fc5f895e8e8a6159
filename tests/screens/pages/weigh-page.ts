import type { Locator, Page } from '@playwright/test'

/** Weigh now in its users' words. */
export class WeighPage {
  readonly page: Page
  readonly origin: string
  readonly tractor: Locator
  readonly trailers: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.tractor = page.getByRole('combobox', { name: 'Tractor or truck' })
    this.trailers = page.getByRole('combobox', { name: 'Trailers, front to back' })
  }

  async open(unit = ''): Promise<void> {
    await this.page.goto(`${this.origin}/#/weigh${unit && `/${unit}`}`)
    await this.tractor.waitFor()
  }

  async pick(unit: string): Promise<void> {
    await this.tractor.click()
    await this.tractor.fill(unit)
    await this.page.getByRole('option', { name: new RegExp(`^${unit}`) }).waitFor()
    await this.tractor.press('Enter')
    await this.pressure('').first().waitFor()
  }

  /** The pressure field of a circuit, such as `T-101 drive main`. */
  pressure(circuit: string): Locator {
    return this.page
      .getByRole('group', { name: /^Pressures/ })
      .getByRole('textbox', { name: new RegExp(`^${circuit}`) })
  }

  /** A line of the table of weights: a group, or `Gross`. */
  weight(name: string): Locator {
    return this.page
      .getByRole('region', { name: 'Weights' })
      .getByRole('row')
      .filter({ has: this.page.getByRole('rowheader', { name: new RegExp(`^${name}`) }) })
  }

  sets(): Locator {
    return this.page.getByRole('region', { name: 'Sets of axles' }).locator('tbody tr')
  }
}
