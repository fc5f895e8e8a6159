import type { Locator, Page } from '@playwright/test'

/** The Shop Bench in its users' words. */
export class ShopPage {
  readonly page: Page
  readonly origin: string
  readonly mark: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.mark = page.getByRole('button', { name: /^Mark (cells|[\d,]+) swapped$/ })
  }

  async open(query = ''): Promise<void> {
    await this.page.goto(`${this.origin}/#/shop${query}`)
    await this.page.getByText(/visits? .* with \d+ cells/).waitFor()
  }

  visit(unit: string): Locator {
    return this.page.getByRole('row').filter({ has: this.page.getByRole('button', { name: unit, exact: true }) })
  }

  visits(): Locator {
    return this.page.locator('.shop-table tbody tr:not(.shop-yard)')
  }

  work(unit: string): Locator {
    return this.page.getByRole('complementary', { name: `Work of ${unit}` })
  }
}
