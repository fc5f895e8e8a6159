import { AxeBuilder } from '@axe-core/playwright'
import type { Page } from '@playwright/test'

/**
 * Everything axe finds on a page, or on a part of it (a selector), dark and light, by every rule it has, best practice included; empty: nothing. The
 * page is left light.
 */
export async function violations(page: Page, within = 'html'): Promise<string[]> {
  const found: string[] = []
  for (const colorScheme of ['dark', 'light'] as const) {
    await page.emulateMedia({ colorScheme })
    // The screens have no frames, whose results the other mode gathers in a page of its own, at twice the time.
    const results = await new AxeBuilder({ page })
      .include(within)
      .setLegacyMode()
      .options({ resultTypes: ['violations'] })
      .analyze()
    found.push(
      ...results.violations.flatMap(({ id, nodes }) =>
        nodes.map(({ target, failureSummary }) => `${colorScheme}, ${id}: ${target.join(' ')}: ${failureSummary}`),
      ),
    )
  }
  return found
}
