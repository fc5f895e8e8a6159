import type { Locator, Page } from '@playwright/test'

export const personDialog = (page: Page): Locator => page.getByRole('dialog', { name: 'Who is at the counter?' })

/** Answers the question for the name of whoever works here. */
export async function sayName(page: Page, name: string): Promise<void> {
  const field = personDialog(page).getByRole('combobox', { name: 'Your name' })
  await field.fill(name)
  await field.press('Enter')
  await personDialog(page).waitFor({ state: 'hidden' })
}
