import { expect, type Locator } from '@playwright/test'
import { UnitPage } from './unit-page.ts'

/** What a Unit sheet says about its lines over time, in its users' words. */
export class EvidencePage extends UnitPage {
  get track(): Locator {
    return this.page.getByRole('region', { name: 'Track of the line', exact: true })
  }

  get checks(): Locator {
    return this.page.getByRole('region', { name: 'Check weighings', exact: true })
  }

  get asFound(): Locator {
    return this.page.getByRole('region', { name: 'As found at recalibration', exact: true })
  }

  /** What a chart reads out, place by place, from its left end, for as many keys. */
  async readings(plot: 'track' | 'misses', keys: number): Promise<string[]> {
    const chart = this.page.locator(`[data-plot="${plot}"] svg.recharts-surface`)
    await chart.waitFor()
    await chart.focus()
    const reading = this.page.locator(`[data-plot="${plot}"] .chart-reading`)
    await reading.waitFor()
    const read = async () => (await reading.allInnerTexts()).join('\n')
    const texts = [await read()]
    for (let key = 0; key < keys; key += 1) {
      await this.page.keyboard.press('ArrowRight')
      await expect.poll(read).not.toBe(texts.at(-1))
      texts.push(await read())
    }
    return texts
  }

  /** The rows of the track's or the checks' table, newest first, cells joined by a bar. */
  async rows(of: 'Track' | 'Checks'): Promise<string[]> {
    await this.show('Table', of)
    const table = (of === 'Track' ? this.track : this.checks).getByRole('table')
    return table
      .locator('tbody tr')
      .evaluateAll((lines) =>
        lines.map((line) => [...line.children].map((cell) => cell.textContent?.trim() ?? '').join(' | ')),
      )
  }

  finding(title: string): Locator {
    return this.findings
      .getByRole('listitem')
      .filter({ has: this.page.getByRole('heading', { name: title, exact: true }) })
  }

  get dialog(): Locator {
    return this.page.getByRole('dialog', { name: /^Set aside: / })
  }

  setAsideButton(title: string): Locator {
    return this.page.getByRole('button', { name: `Set aside ${title}` })
  }

  async fill(reason: string): Promise<void> {
    await this.dialog.getByRole('textbox', { name: 'Reason' }).fill(reason)
  }

  confirm(): Promise<void> {
    return this.dialog.getByRole('button', { name: 'Set aside', exact: true }).click()
  }

  /** The list of what was set aside, opened. */
  async setAside(): Promise<Locator> {
    const list = this.page.getByRole('group').filter({ has: this.page.getByText(/^\d+ set aside$/) })
    await list.getByText(/^\d+ set aside$/).click()
    return list.getByRole('listitem')
  }
}
