import type { ScaleList, ScaleRow } from '#core/contracts/scales.ts'
import { heavyScale } from './evidence-fleet.ts'
import { expect, test } from './evidence-fixtures.ts'
import { sayName } from './pages/person-dialog.ts'

test('tells of each scale how it weighs against the fleet', async ({ scales }) => {
  await scales.open()
  await expect(
    scales.page.getByRole('navigation', { name: 'Screens' }).getByRole('link', { name: 'Scale House' }).last(),
  ).toHaveAttribute('aria-current', 'page')
  const heavy = scales.row(heavyScale)
  await expect(heavy).toContainText('600 ft')
  await expect(heavy).toContainText(/\+\d\.\d\d ±\s\d\.\d\d\s%/)
  await expect(heavy).toContainText('biased')
  await expect(scales.bias(heavyScale)).toHaveAccessibleName(/^Bias \+\d\.\d\d ±\s\d\.\d\d\s%, tolerance ± 0\.20 %$/)
  await expect(scales.table).toContainText(
    new RegExp(`Scale ${heavyScale} shows \\d\\.\\d\\d % too much .* weighings? of \\d+ groups? since`),
  )
  await expect(scales.table).toContainText('calibrate on another scale until it is settled')
  await expect(scales.page.getByText(/A scale’s bias is what the tickets weighed on it have in common/)).toBeVisible()
})

test('shows the scale’s true bias within what it claims', async ({ scales }) => {
  await scales.open()
  const text = (await scales.bias(heavyScale).getAttribute('aria-label')) ?? ''
  const [bias = 0, spread = 0] = [...text.matchAll(/[\d.]+/g)].map(([figure]) => Number(figure))
  const other = ((await scales.bias('Millrace Yard').getAttribute('aria-label')) ?? '').replace('−', '-')
  const yard = Number(/-?[\d.]+/.exec(other)?.[0])
  // Planned 1.5 % apart; what all scales have in common no ticket shows, so their difference is known best.
  expect(Math.abs(bias - yard - 1.5)).toBeLessThan(2 * spread)
})

test('says which scales cannot be told apart, and what to weigh next', async ({ scales }) => {
  await scales.page.route('**/scales/list', async (route) => {
    const response = await route.fetch()
    const answer = (await response.json()) as { json: ScaleList }
    const [one, other, ...more] = answer.json.scales as [ScaleRow, ScaleRow, ...ScaleRow[]]
    const tied: ScaleList = {
      ...answer.json,
      scales: [{ ...one, tiedTo: [other.scale] }, { ...other, tiedTo: [one.scale] }, ...more],
      crossCheck: { scales: [one.scale, other.scale], uNowPercent: 0.16, uAfterPercent: 0.1 },
    }
    await route.fulfill({ response, json: { ...answer, json: tied } })
  })
  await scales.open()
  await expect(
    scales.page.getByText('Fernside Yard cannot be told apart from Millrace Yard: too few units are weighed on both.'),
  ).toHaveCount(1)
  await expect(
    scales.page.getByText(
      'Weighing one loaded unit on Fernside Yard and right after on Millrace Yard would tell most about the scales: their difference, known to ± 0.32 %, would be known to ± 0.20 %.',
    ),
  ).toBeVisible()
})

test('says where leveling and wander come from', async ({ scales }) => {
  await scales.open()
  const figures = scales.page.getByRole('definition')
  await expect(figures.first()).toContainText(/0\.\d\d.*psi/)
  await expect(figures.first()).toContainText(
    /House Rules, until the fleet’s own history is long enough|from \d+ check weighings of the fleet/,
  )
})

test('sets a biased scale aside and lists it', async ({ own: { scales, evidence } }) => {
  await scales.open()
  await evidence.setAsideButton(`Scale biased, ${heavyScale}`).click()
  await evidence.fill('Certified last week')
  await evidence.confirm()
  await sayName(scales.page, 'R. Holt')
  await expect(scales.table).not.toContainText('too much')
  // What the weighings say of it stays as it is.
  await expect(scales.row(heavyScale)).toContainText('biased')
  await expect(scales.page.getByRole('heading', { name: 'Scales', level: 2 })).toBeFocused()
  await expect(await evidence.setAside()).toContainText([/too much.*R\. Holt: Certified last week/s])
})

test('says how to get scales into an empty file', async ({ emptyApp, page }) => {
  await page.goto(`${emptyApp.origin}/#/scale-house`)
  await expect(page.getByText('No scale is recorded.')).toBeVisible()
  await page.getByRole('link', { name: 'Import a fleet folder' }).click()
  await expect(page.getByRole('heading', { name: 'Fleet folder', level: 1 })).toBeVisible()
})
