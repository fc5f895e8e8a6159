import type { Locator, Page } from '@playwright/test'

/**
 * Counts what a person does. Seconds of the keystroke-level model (Card, Moran & Newell 1980), values from memory: 0.2
 * a key of a practised typist, 1.1 to point, 1.35 to think before a new field or command.
 */
export class Typist {
  readonly page: Page
  keys = 0
  clicks = 0
  thoughts = 0

  constructor(page: Page) {
    this.page = page
  }

  async click(target: Locator): Promise<void> {
    this.clicks += 1
    this.thoughts += 1
    await target.click()
  }

  async press(key: string): Promise<void> {
    this.keys += 1
    await this.page.keyboard.press(key)
  }

  async type(text: string): Promise<void> {
    this.thoughts += 1
    this.keys += text.length
    await this.page.keyboard.type(text)
  }

  /** Keys that together say one thing, such as `g` and `b`. */
  async command(...keys: string[]): Promise<void> {
    this.thoughts += 1
    for (const key of keys) await this.press(key)
  }

  /** Tab, as often as it takes to come to a field. */
  async tabTo(field: Locator): Promise<void> {
    for (let step = 0; step < 12 && !(await field.evaluate((each) => each === document.activeElement)); step += 1)
      await this.press('Tab')
  }

  get seconds(): number {
    return this.keys * 0.2 + this.clicks * 1.1 + this.thoughts * 1.35
  }

  /** What was counted, for people. */
  get counted(): string {
    return `${this.keys} keys, ${this.clicks} clicks, ${this.thoughts} pauses to think: ${Math.round(this.seconds)} s`
  }
}
