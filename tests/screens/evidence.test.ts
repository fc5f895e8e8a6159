import { join } from 'node:path'
import { plannedAt } from './app.ts'
import { evidenceFleet } from './evidence-fleet.ts'
import { expect, test } from './evidence-fixtures.ts'
import { sayName } from './pages/person-dialog.ts'
import { writeFleetFolder } from './fleet-folder.ts'

const plain = (text: string) => text.replace(/\s+/g, ' ')

test('reads the same numbers from the track’s chart and from its table', async ({ evidence }) => {
  await evidence.open('T-303')
  const readings = (await evidence.readings('track', 4)).map(plain)
  expect(readings[0]).toMatch(/calibration line reads 34,0\d0 lb/)
  const rows = (await evidence.rows('Track')).map(plain)
  // Newest first: the calibration is last, the first check before it.
  const [when = '', what = '', psi = '', ticket = '', stands = '', track = ''] = rows.at(-2)?.split(' | ') ?? []
  expect(what).toContain('check weighing, ticket')
  expect(readings[1]).toContain(when.slice(0, 10))
  expect(readings[1]).toContain(`${ticket} lb at ${psi} psi`)
  expect(readings[1]).toContain(`stands for ${stands} lb; best weight ${track.split(' ±')[0]} lb`)
})

test('says in plain words where a line stands that drifts, and since when', async ({ evidence }) => {
  await evidence.open('T-301')
  await expect(evidence.checks).toContainText(
    /Since about \d{4}-\d{2}-\d{2} the scale has shown less than the line reads/,
  )
  await expect(evidence.checks).toContainText('By chance they pass 8 about once in 9,600 checks of a line that holds.')
  await expect(evidence.track).toContainText(
    /It changed about \d{4}-\d{2}-\d{2}, between \d{4}-\d{2}-\d{2} and \d{4}-\d{2}-\d{2} \(95 %\); 99\s% sure that it did/,
  )
  await expect(evidence.track.locator('figcaption').getByText('when it changed, 95 %', { exact: true })).toBeVisible()
  // The table says the same span that the chart shades.
  expect(await evidence.rows('Track')).toContainEqual(
    expect.stringMatching(/an offset, most likely then, between \d{4}-\d{2}-\d{2} and \d{4}-\d{2}-\d{2} \(95 %\)/),
  )
  const rows = await evidence.rows('Checks')
  const last = rows[0]?.split(' | ') ?? []
  // Miss with its uncertainty, miss over u, and the two sums: the low one beyond its limit of 8.
  expect(last[5]).toMatch(/^−[\d,]+ ±\s\d+$/)
  expect(Number(last[7])).toBe(0)
  expect(Number(last[8])).toBeGreaterThan(8)
  const drifting = evidence.finding('Checks drifting')
  await drifting.getByText('Figures').click()
  await expect(drifting.getByRole('definition').filter({ hasText: /^−[\d,]+\slb$/ })).toBeVisible()
  await expect(drifting).toContainText(/[+−]?[\d,]+\slb a month/)
  await expect(drifting).toContainText('the scale shows less')
  await expect(evidence.findings.getByRole('complementary', { name: 'Before working on the vehicle' })).toBeVisible()
})

test('marks checks, calibrations, work and slips by shape and word', async ({ evidence }) => {
  await evidence.open('T-301')
  const key = evidence.track.locator('figcaption')
  for (const word of [
    'calibration',
    'check weighing',
    'recorded event',
    'tolerance',
    'what the line reads',
    'best weight with its 95 % band',
  ])
    await expect(key.getByText(word, { exact: true })).toBeVisible()
  // A line that a change took off is due since then: what is ahead of one that holds is forecast.
  await evidence.open('T-303')
  await expect(key.getByText('forecast of the line, 95 %', { exact: true })).toBeVisible()
  await expect(evidence.track.getByText(/^due \d{4}-\d{2}-\d{2}$/)).toBeVisible()
  await evidence.open('T-302')
  await expect(key.getByText('check with a slip', { exact: true })).toBeVisible()
  await expect(key.getByText('check that missed', { exact: true })).toHaveCount(0)
  expect(await evidence.rows('Track')).toContainEqual(
    expect.stringMatching(/check with a slip: digits transposed.*13,000/),
  )
  await expect(evidence.finding('Digits transposed')).toContainText('31,000 lb')
})

test('ends a track where recorded work broke the line', async ({ evidence }) => {
  await evidence.open('T-304')
  await expect(evidence.track).toContainText(/Work on \d{4}-\d{2}-\d{2} broke the line: from then on it says nothing/)
  await expect(evidence.track.getByText('work that broke the line')).toBeVisible()
  await expect(evidence.track.getByText('valve replaced', { exact: true })).toBeVisible()
  await expect(evidence.track.getByText('forecast of the line, 95 %')).toHaveCount(0)
  expect(await evidence.rows('Track')).toContainEqual(expect.stringContaining('valve replaced, broke the line'))
})

test('tells how far a line was off when it was calibrated anew', async ({ evidence }) => {
  await evidence.open('T-301')
  // Both calibrations lie on the same true line.
  await expect(evidence.asFound.locator('tbody tr').first()).toContainText('within tolerance')
  await expect(evidence.asFound.getByRole('img')).toHaveAccessibleName(/at the limit, ± 1,020\slb tolerated/)
})

test('says what is missing where nothing tested the line yet', async ({ evidence }) => {
  await evidence.open('T-305')
  await expect(evidence.checks).toContainText('None since the calibration.')
  await expect(evidence.track).toContainText('no check weighing has tested it yet')
})

test('sets a finding aside with a reason and a name, and the fleet’s trust follows', async ({
  own: { evidence, roster },
}) => {
  const { page } = evidence
  await evidence.open('T-301')
  await evidence.setAsideButton('Checks drifting').click()
  await evidence.confirm()
  const reason = evidence.dialog.getByRole('textbox', { name: 'Reason' })
  await expect(reason).toBeFocused()
  await expect(reason).toHaveAccessibleDescription('The reason is empty; say why this finding needs no work.')
  await evidence.fill('Scale was being repaired')
  await evidence.confirm()
  await sayName(page, 'M. Tarn')
  await expect(evidence.dialog).toHaveCount(0)
  await expect(evidence.finding('Checks drifting')).toHaveCount(0)
  await expect(page.getByRole('heading', { name: 'Findings' })).toBeFocused()
  await expect(await evidence.setAside()).toContainText([
    /Since .* less than this line reads.*M\. Tarn: Scale was being repaired/s,
  ])
  await roster.open('?finding=checks-drifting')
  await expect(page.getByText('No unit matches these filters.')).toBeVisible()
  // Kept in the file, and the name for the next time.
  await evidence.open('T-301')
  await expect(evidence.finding('Checks drifting')).toHaveCount(0)
  await evidence.open('T-302')
  await evidence.setAsideButton('Digits transposed').click()
  await expect(page.getByRole('button', { name: 'At the counter: M. Tarn' })).toBeAttached()
  await page.keyboard.press('Escape')
  await expect(evidence.finding('Digits transposed')).toBeVisible()
})

test('brings a finding back when new evidence arrives, and keeps who set it aside', async ({
  own: { evidence },
  ownApp,
}) => {
  await evidence.open('T-301')
  await evidence.setAsideButton('Checks drifting').click()
  await evidence.fill('Known, the shop has it on its list')
  await evidence.confirm()
  await sayName(evidence.page, 'M. Tarn')
  await expect(evidence.finding('Checks drifting')).toHaveCount(0)
  const withOneMore = evidenceFleet.map((planned) =>
    planned.unit === 'T-301'
      ? { ...planned, checks: [...(planned.checks ?? []), { daysAgo: 2, psi: 50, missLb: -900 }] }
      : planned,
  )
  await ownApp.bringIn(writeFleetFolder(join(ownApp.folder, 'one-more'), withOneMore, plannedAt))
  await expect(evidence.finding('Checks drifting')).toBeVisible()
  await expect(await evidence.setAside()).toHaveCount(1)
})

test('offers no way to set aside what asks for work', async ({ evidence }) => {
  await evidence.open('T-304')
  await expect(evidence.finding('Event since calibration')).toBeVisible()
  await expect(evidence.setAsideButton('Event since calibration')).toHaveCount(0)
})

test('filters the Roster by every finding that is there, under readable names', async ({
  evidenceApp,
  page,
  evidence,
}) => {
  await page.goto(`${evidenceApp.origin}/#/roster`)
  const choice = page.getByRole('combobox', { name: 'Finding' })
  await expect(choice.getByRole('option')).toContainText([
    'With or without findings',
    'Event since calibration',
    'Checks drifting',
    'Uncertainty over tolerance',
    'Digits transposed',
  ])
  await choice.selectOption({ label: 'Checks drifting' })
  await expect(page.getByRole('grid', { name: 'Units' }).locator('[data-line]')).toHaveCount(1)
  await page.getByRole('grid', { name: 'Units' }).locator('[data-line="T-301"]').dblclick()
  await expect(evidence.finding('Checks drifting')).toBeVisible()
})
