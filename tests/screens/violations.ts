import { AxeBuilder } from '@axe-core/playwright'
import type { Page } from '@playwright/test'

/** Everything axe finds on a page by every rule it has, best practice included; empty: nothing. */
export async function violations(page: Page): Promise<string[]> {
  // The screens have no frames, whose results the other mode gathers in a page of its own, at twice the time.
  const { violations: found } = await new AxeBuilder({ page }).setLegacyMode().options({ resultTypes: ['violations'] }).analyze()
  return found.flatMap(({ id, nodes }) => nodes.map(({ target, failureSummary }) => `${id}: ${target.join(' ')}: ${failureSummary}`))
}
