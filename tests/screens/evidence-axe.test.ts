import { heavyScale } from './evidence-fleet.ts'
import { expect, test } from './evidence-fixtures.ts'
import { personDialog, sayName } from './pages/person-dialog.ts'
import { violations } from './violations.ts'

// The rules go over every cell of long tables: a minute and more on a busy machine.
test.setTimeout(240_000)

test('track and checks as charts and tables, and a finding being set aside', async ({ evidence }) => {
  const { page } = evidence
  await evidence.open('T-301')
  await evidence.readings('track', 2)
  expect(await violations(page)).toEqual([])
  await evidence.readings('misses', 1)
  await evidence.show('Table', 'Track')
  await evidence.show('Table', 'Checks')
  expect(await violations(page)).toEqual([])
  await evidence.setAsideButton('Checks drifting').click()
  await evidence.confirm()
  expect(await violations(page)).toEqual([])
  await evidence.open('T-304')
  await evidence.track.getByText('valve replaced', { exact: true }).waitFor()
  expect(await violations(page)).toEqual([])
})

test('scales and House Rules, at rest and refused', async ({ own: { scales, houseRules } }) => {
  const { page } = scales
  await scales.open()
  await scales.row(heavyScale).waitFor()
  expect(await violations(page)).toEqual([])
  await houseRules.open()
  expect(await violations(page)).toEqual([])
  await houseRules.set('Largest 95 % uncertainty', '25')
  await houseRules.set('Oldest calibration', '180')
  await expect(personDialog(page).getByRole('combobox')).toBeFocused()
  expect(await violations(page)).toEqual([])
  await sayName(page, 'M. Tarn')
  await page.getByText(/^Saved\./).waitFor()
  expect(await violations(page)).toEqual([])
})
