import type { Page } from '@playwright/test'
import { admitNewcomer, expect, test } from './demo-fixtures.ts'

test.use({ viewport: { width: 1280, height: 800 } })

test.beforeEach(({ page, demoApp }) => admitNewcomer(page, demoApp))

/** What is on the paper and should not be: things to press, lines over each other, charts that are gone or cut. */
const misprinted = (page: Page): Promise<string[]> =>
  page.evaluate(() => {
    const found: string[] = []
    const box = (element: Element) => element.getBoundingClientRect()
    const isThere = (element: Element) => box(element).height > 0 && box(element).width > 0
    const pressed =
      '.bar, .skip, .mantine-Button-root, .mantine-SegmentedControl-root, [data-narrows="no"], .heavy-side'
    for (const element of document.querySelectorAll(pressed))
      if (isThere(element)) found.push(`to be pressed: ${element.className} ${element.textContent?.slice(0, 40)}`)
    const lines = [...document.querySelectorAll('.line')].map(box)
    const overlaps = lines.filter(({ top }, place) => place > 0 && top < (lines[place - 1]?.bottom ?? 0) - 1)
    if (overlaps.length > 0) found.push(`${overlaps.length} lines over others`)
    const gaps = lines.filter(({ top }, place) => place > 0 && top > (lines[place - 1]?.bottom ?? 0) + 1)
    if (gaps.length > 0) found.push(`${gaps.length} gaps between lines`)
    const width = document.documentElement.clientWidth
    for (const chart of document.querySelectorAll('.recharts-wrapper > svg'))
      if (!isThere(chart) || box(chart).right > width + 1) found.push(`a chart ${box(chart).width} px wide`)
    return found
  })

const pagesOf = async (page: Page): Promise<number> =>
  (await page.pdf()).toString('latin1').match(/\/Type\s*\/Page\b/g)?.length ?? 0

for (const [screen, part, most] of [
  ['today', '.today-finding', 5],
  ['roster', '.line', 3],
  ['heavy', '.line', 3],
  ['heavy?part=changed', '.line', 3],
  ['monday', 'table', 2],
  ['shop', 'table', 5],
  ['shop?part=lives', '.recharts-wrapper', 2],
  ['shop?part=order', 'table', 2],
  ['unit/T-104', '.recharts-wrapper', 5],
  ['cab-card/T-109', '.page', 2],
] as const)
  test(`${screen} on paper is what it shows, without what is pressed`, async ({ page, demoApp }) => {
    await page.goto(`${demoApp.origin}/#/${screen}`)
    await page.locator(part).first().waitFor()
    // No page that is empty but for the height of what was scrolled.
    await expect.poll(() => pagesOf(page)).toBeLessThanOrEqual(most)
    await page.setViewportSize({ width: 720, height: 960 })
    await page.emulateMedia({ media: 'print' })
    await expect.poll(() => misprinted(page)).toEqual([])
  })

test('a long list says on paper where all of it is, in the language of the window, and what it was narrowed to', async ({
  page,
  demoApp,
}) => {
  await page.addInitScript(() => localStorage.setItem('tareline-language', 'es'))
  await page.goto(`${demoApp.origin}/#/roster?kind=trailer`)
  await page.locator('.line').first().waitFor()
  await page.emulateMedia({ media: 'print' })
  await expect(page.getByText('Las líneas a la vista; guardada como PDF')).toBeVisible()
  await expect(page.getByRole('combobox', { name: 'Tipo' })).toHaveValue('trailer')
  await expect(page.getByRole('combobox', { name: 'Tipo' })).toBeVisible()
  await expect(page.getByRole('combobox', { name: 'Patio' })).toBeHidden()
})

test('paper is white, whatever the screen is in', async ({ page, demoApp }) => {
  await page.emulateMedia({ colorScheme: 'dark' })
  await page.goto(`${demoApp.origin}/#/today`)
  await page.locator('.today-finding').first().waitFor()
  const ink = () => page.evaluate(() => getComputedStyle(document.body).color)
  const onScreen = await ink()
  await page.evaluate(() => dispatchEvent(new Event('beforeprint')))
  expect(await ink()).not.toBe(onScreen)
  expect(await ink()).toBe('rgb(25, 28, 30)')
  await page.evaluate(() => dispatchEvent(new Event('afterprint')))
  expect(await ink()).toBe(onScreen)
})
