import type { Locator, Page } from '@playwright/test'

/** The Fleet folder screen in its users' words. */
export class FolderPage {
  readonly page: Page
  readonly origin: string

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
  }

  async open(): Promise<void> {
    await this.page.goto(`${this.origin}/#/folder`)
    await this.page.getByRole('heading', { name: 'Fleet folder', level: 1 }).waitFor()
  }

  /** Chooses a folder in the browser's own window. */
  pick(folder: string): Promise<void> {
    return this.page.getByLabel('Fleet folder', { exact: true }).setInputFiles(folder)
  }

  async type(folder: string): Promise<void> {
    await this.page.getByRole('textbox', { name: 'Or a folder on this computer' }).fill(folder)
    await this.page.getByRole('button', { name: 'Import', exact: true }).click()
  }

  cancel(): Promise<void> {
    return this.page.getByRole('button', { name: 'Cancel' }).click()
  }

  again(): Promise<void> {
    return this.page.getByRole('button', { name: 'Import another folder' }).click()
  }

  outcome(title: string): Locator {
    return this.page.getByRole('heading', { name: title })
  }

  /** What happened to the rows of one file: read, added, completed, already there. */
  async rows(file: string): Promise<string[]> {
    const row = this.page
      .getByRole('table', { name: 'Rows of each file' })
      .getByRole('row')
      .filter({ has: this.page.getByRole('rowheader', { name: file }) })
    return row.getByRole('cell').allInnerTexts()
  }

  problems(): Locator {
    return this.page.getByRole('table', { name: 'Problems, row by row' }).locator('tbody').getByRole('row')
  }

  async writeOut(folder: string): Promise<void> {
    await this.page.getByRole('textbox', { name: 'Folder on this computer', exact: true }).fill(folder)
    await this.page.getByRole('button', { name: 'Export' }).click()
  }
}
