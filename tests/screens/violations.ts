import { AxeBuilder } from '@axe-core/playwright'
import type { Page } from '@playwright/test'

/** Everything axe finds on a page by every rule it has, best practice included; empty: nothing. */
export async function violations(page: Page): Promise<string[]> {
  const { violations: found } = await new AxeBuilder({ page }).analyze()
  return found.flatMap(({ id, nodes }) => nodes.map(({ target, failureSummary }) => `${id}: ${target.join(' ')}: ${failureSummary}`))
}
