import type { Locator, Page } from '@playwright/test'

/** The lists of the Scale House and the sheet of a ticket or reading, in their users' words. */
export class EvidenceSheet {
  readonly page: Page
  readonly origin: string
  /** The correction that stands open, in the place of what it corrects. */
  readonly form: Locator

  constructor(page: Page, origin: string) {
    this.page = page
    this.origin = origin
    this.form = page.getByRole('region', { name: /^Correct (ticket|reading)/ })
  }

  async list(part: 'Tickets' | 'Readings' | 'Calibrations', query = ''): Promise<Locator> {
    await this.page.goto(`${this.origin}/#/scale-house/${part.toLowerCase()}${query}`)
    const table = this.page.getByRole('table', { name: `${part}, newest first` })
    await table.waitFor()
    return table
  }

  /** Opens a ticket from the list of a unit's tickets by its number. */
  async openTicket(unit: string, number: string): Promise<void> {
    const table = await this.list('Tickets', `?unit=${unit}`)
    await table.getByRole('link', { name: number, exact: true }).click()
    await this.page.getByRole('heading', { name: `Ticket ${number} of`, level: 1 }).waitFor()
  }

  async correct(what: string): Promise<void> {
    await this.page.getByRole('button', { name: `Correct… ${what}` }).click()
    await this.form.waitFor()
  }

  field(label: string): Locator {
    return this.form.getByLabel(label)
  }
}
