import { AxeBuilder } from '@axe-core/playwright'
import type { Page } from '@playwright/test'

/**
 * Axe on a page, read in once a document: its own way, twice for each look, has it run cold, which takes twice the
 * time. The screens have no frames, whose results the other mode gathers in a page of its own.
 */
export async function axeOn(page: Page): Promise<AxeBuilder> {
  const isThere = await page.evaluate(() => 'axe' in window)
  return new AxeBuilder({ page, ...(isThere && { axeSource: ';' }) }).setLegacyMode()
}

/** The rules that go by color, whose answer may differ between the looks of a page. */
const byColor = ['color-contrast', 'link-in-text-block']

/**
 * Everything axe finds on a page, or on a part of it (a selector), dark and light, by every rule it has, best practice
 * included; empty: nothing. The page is left light.
 */
export async function violations(page: Page, within = 'html'): Promise<string[]> {
  const found: string[] = []
  for (const colorScheme of ['dark', 'light'] as const) {
    await page.emulateMedia({ colorScheme })
    const axe = (await axeOn(page)).include(within)
    // What does not go by color is the same in both looks.
    const results = await axe
      .options({
        resultTypes: ['violations'],
        ...(colorScheme === 'light' ? { runOnly: { type: 'rule', values: byColor } } : {}),
      })
      .analyze()
    found.push(
      ...results.violations.flatMap(({ id, nodes }) =>
        nodes.map(({ target, failureSummary }) => `${colorScheme}, ${id}: ${target.join(' ')}: ${failureSummary}`),
      ),
    )
  }
  return found
}
