import type { Locator, Page } from '@playwright/test'

/** The Heavy Log in its users' words. */
export class HeavyPage {
  readonly page: Page
  readonly origin: string
  readonly grid: Locator
  /** The chosen weight in full. */
  readonly side: Locator
  readonly note: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.grid = page.getByRole('grid', { name: 'Heavy weights' })
    this.side = page.getByRole('complementary', { name: 'The chosen weight' })
    this.note = this.side.getByRole('textbox', { name: 'Driver’s note' })
  }

  async open(query = ''): Promise<void> {
    await this.page.goto(`${this.origin}/#/heavy${query}`)
    await this.page.getByRole('heading', { name: 'Heavy Log', level: 1 }).waitFor()
  }

  /** The words of one column, of the lines that are in the page, from top to bottom. */
  async column(name: string): Promise<string[]> {
    const heads = await this.grid.getByRole('columnheader').allInnerTexts()
    const place = heads.findIndex((head) => head.startsWith(name))
    const lines = await this.lines().evaluateAll(
      (rows, at) =>
        rows
          .map((row) => [Number(row.getAttribute('aria-rowindex')), row.children[at]?.textContent ?? ''] as const)
          .sort(([a], [b]) => a - b)
          .map(([, text]) => text),
      place,
    )
    return lines
  }

  lines(): Locator {
    return this.grid.locator('tbody').getByRole('row')
  }

  chosen(): Locator {
    return this.grid.getByRole('row', { selected: true })
  }

  choose(filter: 'Yard' | 'Limit' | 'Period' | 'Verdict' | 'Weighed by', label: string): Promise<unknown> {
    return this.page.getByRole('combobox', { name: filter, exact: true }).selectOption({ label })
  }

  /** When the chosen weight was weighed. */
  async when(): Promise<string> {
    return (await this.side.getByRole('definition').first().textContent()) ?? ''
  }

  async total(): Promise<number> {
    return Number(((await this.page.getByText(/^[\d,]+ weights?$/).textContent()) ?? '').replace(/\D/g, ''))
  }

  show(part: 'Log' | 'Offenders' | 'Months, yards, limits'): Promise<void> {
    return this.page.getByRole('radiogroup', { name: 'Show', exact: true }).getByText(part, { exact: true }).click()
  }

  table(name: string | RegExp): Locator {
    return this.page.getByRole('table', { name })
  }
}
