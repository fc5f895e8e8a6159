import { expect, type Locator, type Page } from '@playwright/test'

/** A Unit sheet in its users' words. */
export class UnitPage {
  readonly page: Page
  readonly origin: string
  readonly findings: Locator
  readonly chart: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.findings = page.getByRole('region', { name: 'Findings' })
    this.chart = page.locator('[data-plot="weight"] svg.recharts-surface')
  }

  async open(unit: string, query = ''): Promise<void> {
    await this.page.goto(`${this.origin}/#/unit/${encodeURIComponent(unit)}${query}`)
    await this.page.getByRole('heading', { name: unit, level: 1 }).waitFor()
    // Letters that change their width move what is below them: a click in that moment has its press on one thing and
    // its end on another.
    await this.page.evaluate(() => document.fonts.ready)
  }

  group(name: string): Locator {
    return this.page.getByRole('tab', { name: new RegExp(`^${name}`) })
  }

  /** Shows the lines, their track or their checks as a chart or as a table. */
  show(view: 'Chart' | 'Table', of: 'Lines' | 'Track' | 'Checks' = 'Lines'): Promise<void> {
    return this.page
      .getByRole('radiogroup', { name: `${of} as` })
      .getByText(view, { exact: true })
      .click()
  }

  /** What the chart reads out at a whole pressure in psi, reached with the arrow keys from its left end. */
  async readAt(psi: number): Promise<string> {
    await this.chart.waitFor()
    await this.chart.focus()
    await this.page.keyboard.press('ArrowRight')
    const reading = this.page.locator('.chart-reading')
    const first = Number.parseFloat((await reading.textContent()) ?? '')
    // The chart takes one key a frame, so each step is waited for.
    for (let at = first + 1; at <= psi; at += 1) {
      await this.page.keyboard.press('ArrowRight')
      await expect(reading).toContainText(`${at}.0`)
    }
    return (await reading.textContent()) ?? ''
  }

  /** The table's row of a pressure, cell by cell. */
  async rowAt(psi: string): Promise<string[]> {
    const row = this.page
      .getByRole('table', { name: /Weight at a pressure/ })
      .getByRole('row')
      .filter({ has: this.page.getByRole('rowheader', { name: psi, exact: true }) })
    return (await row.getByRole('cell').allInnerTexts()).map((text) => text.trim())
  }
}
