import type { Locator, Page } from '@playwright/test'

/** The screen for foreign CSV files in its users' words. */
export class ForeignPage {
  readonly page: Page
  readonly origin: string
  readonly mapping: Locator
  readonly saved: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.mapping = page.getByRole('form', { name: 'Mapping', exact: true })
    this.saved = page.getByRole('form', { name: 'Saved mappings' })
  }

  async open(): Promise<void> {
    await this.page.goto(`${this.origin}/#/foreign`)
    await this.page.getByRole('heading', { name: 'Import a CSV file', level: 1 }).waitFor()
  }

  /** Chooses a file in the browser's own window. */
  pick(file: string): Promise<void> {
    return this.page.getByLabel('CSV file', { exact: true }).setInputFiles(file)
  }

  /** Drops a file where the chooser says that one may be dropped. */
  async drop(name: string, text: string): Promise<void> {
    const dataTransfer = await this.page.evaluateHandle(
      ([fileName, content]) => {
        const files = new DataTransfer()
        files.items.add(new File([content], fileName, { type: 'text/csv' }))
        return files
      },
      [name, text] as const,
    )
    await this.page.getByText('or drop one here').dispatchEvent('drop', { dataTransfer })
  }

  async type(path: string): Promise<void> {
    await this.page.getByRole('textbox', { name: 'Or a file on this computer' }).fill(path)
    await this.page.getByRole('button', { name: 'Preview' }).click()
  }

  setting(label: string): Locator {
    return this.mapping.getByRole('combobox', { name: label, exact: true })
  }

  /** A row of the file as it is shown. */
  fileRow(line: number): Locator {
    return this.page
      .getByRole('table', { name: 'The first rows of the file' })
      .getByRole('row')
      .filter({ has: this.page.getByRole('rowheader', { name: String(line), exact: true }) })
  }

  storedRows(): Locator {
    return this.page.getByRole('table', { name: 'As they would be stored' }).locator('tbody').getByRole('row')
  }

  bringIn(file: string): Promise<void> {
    return this.page.getByRole('button', { name: `Import ${file}` }).click()
  }

  outcome(title: string): Locator {
    return this.page.getByRole('heading', { name: title, exact: true })
  }

  problems(): Locator {
    return this.page.getByRole('table', { name: 'Problems, line by line' }).locator('tbody').getByRole('row')
  }

  another(): Promise<void> {
    return this.page.getByRole('button', { name: /another file/ }).click()
  }
}
