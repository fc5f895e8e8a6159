import { join } from 'node:path'
import { expect, test } from './fixtures.ts'
import { writeFleetFolder } from './fleet-folder.ts'
import { UnitPage } from './pages/unit-page.ts'
import { violations } from './violations.ts'

test('shows what speaks against the unit, what to do, and the cautions', async ({ unit }) => {
  await unit.open('T-104')
  await expect(unit.findings.getByRole('heading', { name: 'Event since calibration' })).toBeVisible()
  await expect(unit.findings).toContainText('stop')
  await expect(unit.findings).toContainText('Next:')
  await expect(unit.findings.getByRole('complementary', { name: 'Before working on the vehicle' })).toContainText(
    'Never tee into brake air.',
  )
  await expect(
    unit.page.getByText('Onboard weights are not legal for trade; a certified scale and the local authority decide.'),
  ).toBeVisible()
  await expect(unit.page.getByRole('region', { name: 'Events' })).toContainText('valve replaced')
})

test('spares the cautions where nothing leads to a wrench', async ({ unit }) => {
  await unit.open('T-103')
  await expect(unit.findings.getByRole('heading', { name: 'Age over limit' })).toBeVisible()
  await expect(unit.findings.getByRole('complementary')).toHaveCount(0)
})

test('measures the axles behind the front axle of a tractor and behind the kingpin of a trailer', async ({ unit }) => {
  await unit.open('T-101')
  await expect(
    unit.page.getByRole('img', {
      name: /behind the front axle: steer 0\.0\sft; drive 17\.0\sft and 21\.3\sft; fifth wheel 17\.5\sft/,
    }),
  ).toBeVisible()
  await unit.open('V-202')
  await expect(unit.page.getByRole('img', { name: /behind the kingpin: tandem 36\.0\sft and 40\.3\sft/ })).toBeVisible()
})

test('goes from group to group with the arrow keys', async ({ unit }) => {
  await unit.open('T-101')
  await expect(unit.group('drive')).toHaveAttribute('aria-selected', 'true')
  await unit.group('drive').focus()
  await unit.page.keyboard.press('ArrowLeft')
  await expect(unit.group('steer')).toBeFocused()
  await expect(unit.page.getByRole('tabpanel', { name: /steer/ })).toContainText('estimated from another group')
  await expect(unit.page).toHaveURL(/group=steer/)
})

test('reads the same numbers from the chart and from its table', async ({ unit }) => {
  await unit.open('T-101')
  const reading = await unit.readAt(50)
  await unit.show('Table')
  const [weight = '', spread = '', earlier = ''] = await unit.rowAt('50.0')
  const plain = reading.replace(/\s+/g, ' ')
  expect(plain).toContain(`${weight} lb ${spread}`.replace(/\s+/g, ' '))
  expect(plain).toContain(earlier.split(' (')[0] ?? 'nothing')
  // The invented group weighs 4,000 lb + 450 lb a psi, its tickets are rounded to 20 lb.
  expect(Math.abs(Number(weight.replace(',', '')) - 26_500)).toBeLessThanOrEqual(40)
})

test('draws each line, the limit and the pressure to load to, which is surely under it', async ({ unit }) => {
  await unit.open('T-101')
  await expect(unit.page.getByText('limit 34,000 lb').first()).toBeVisible()
  // The line reads 34,000 lb at 66.7 psi.
  await expect(unit.page.getByText(/load to 65\.\d\spsi/).first()).toBeVisible()
  await expect(unit.page.getByRole('figure').getByText(/in force, \d{4}-\d{2}-\d{2}/)).toBeVisible()
  await expect(unit.page.locator('[data-plot="weight"] .recharts-line-curve')).toHaveCount(2)
  await expect(unit.page.getByRole('table', { name: 'Calibrations, newest first' }).locator('tbody tr')).toHaveCount(2)
})

test('lists a line for each state of a lift axle, each with its own trust and due date', async ({ page, emptyApp }) => {
  test.setTimeout(180_000)
  await emptyApp.bringIn(
    writeFleetFolder(join(emptyApp.folder, 'lift'), [
      { unit: 'B-501', kind: 'truck', calibratedDaysAgo: [420, 60], lifts: ['raised', 'lowered'] },
      { unit: 'B-502', kind: 'truck', calibratedDaysAgo: [60], lifts: ['lowered'] },
    ]),
  )
  const unit = new UnitPage(page, emptyApp.origin)
  await unit.open('B-501')
  const lines = page.getByRole('region', { name: 'A line for each lift state' }).getByRole('row')
  await expect(lines).toHaveCount(3)
  await expect(lines.nth(0)).toHaveText(/Lift axle.*Trust.*Calibrated.*Due.*Load to.*At limit, 95 %/)
  const cells = async (state: string) => {
    const line = lines.filter({ has: page.getByRole('rowheader', { name: state, exact: true }) })
    return (await line.getByRole('cell').allInnerTexts()).map((text) => text.replaceAll(/\s+/g, ' '))
  }
  const [raised, lowered] = [await cells('Raised'), await cells('Lowered')]
  expect([raised[0], lowered[0]]).toEqual(['overdue', 'sound'])
  const day = /^\d{4}-\d{2}-\d{2}/
  for (const line of [raised, lowered])
    expect(line).toEqual([
      expect.any(String),
      expect.stringMatching(day),
      expect.stringMatching(day),
      expect.stringMatching(/^6[567]\.\d psi$/),
      expect.stringMatching(/^± [\d,]+ lb$/),
    ])
  expect((raised[2] as string) < (lowered[2] as string)).toBe(true)
  expect(await violations(page)).toEqual([])
  await unit.open('B-502')
  await expect(page.getByRole('heading', { name: 'Calibrations', exact: true })).toBeVisible()
  await expect(page.getByRole('region', { name: 'A line for each lift state' })).toHaveCount(0)
})

test('says what is missing where a group has no line', async ({ unit }) => {
  await unit.open('T-105')
  await expect(unit.page.getByText(/No calibration makes a line yet/)).toBeVisible()
  await expect(unit.findings.getByRole('heading', { name: 'No calibration' })).toBeVisible()
})

test('moves the focus to a part of the sheet', async ({ unit }) => {
  await unit.open('T-101')
  await unit.page.getByRole('navigation', { name: 'On this sheet' }).getByRole('button', { name: 'Readings' }).click()
  await expect(unit.page.getByRole('heading', { name: 'Newest readings' })).toBeFocused()
})

test('names a unit that does not exist and leads back', async ({ unit }) => {
  await unit.open('T-999')
  await expect(unit.page.getByRole('alert')).toContainText('There is no unit T-999')
  await unit.page.getByRole('link', { name: 'Open the Roster' }).click()
  await expect(unit.page.getByRole('heading', { name: 'Roster', level: 1 })).toBeVisible()
})
