import type { Locator, Page } from '@playwright/test'

/** The Roster in its users' words. */
export class RosterPage {
  readonly page: Page
  readonly origin: string
  readonly units: Locator
  readonly title: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.units = page.getByRole('grid', { name: 'Units' })
    this.title = page.getByRole('heading', { name: 'Roster', level: 1 })
  }

  async open(query = ''): Promise<void> {
    await this.page.goto(`${this.origin}/#/roster${query}`)
    await this.title.waitFor()
  }

  /** Numbers of the units in sight, from top to bottom. */
  async numbers(): Promise<string[]> {
    const rows = this.units.locator('[data-line]')
    return rows.evaluateAll((lines) =>
      lines
        .sort((a, b) => Number(a.getAttribute('aria-rowindex')) - Number(b.getAttribute('aria-rowindex')))
        .map((line) => line.getAttribute('data-line') ?? ''),
    )
  }

  line(unit: string): Locator {
    return this.units.locator(`[data-line="${unit}"]`)
  }

  selected(): Locator {
    return this.units.getByRole('row', { selected: true })
  }

  search(text: string): Promise<void> {
    return this.page.getByRole('searchbox', { name: 'Search units' }).fill(text)
  }

  async choose(filter: 'Kind' | 'Yard' | 'Finding', label: string): Promise<void> {
    await this.page.getByRole('combobox', { name: filter, exact: true }).selectOption({ label })
  }

  state(trust: string): Locator {
    return this.page
      .getByRole('group', { name: 'Units by trust' })
      .getByRole('button', { name: new RegExp(`^${trust}`) })
  }

  sortBy(column: string): Promise<void> {
    return this.units.getByRole('button', { name: column }).click()
  }

  heading(column: string): Locator {
    return this.units.getByRole('columnheader', { name: column })
  }

  clearFilters(): Promise<void> {
    return this.page.getByRole('button', { name: 'Clear filters' }).click()
  }
}
