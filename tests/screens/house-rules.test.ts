import { houseRuleDefinitions } from '#core/fleet/house-rules.ts'
import { expect, test } from './evidence-fixtures.ts'
import { personDialog, sayName } from './pages/person-dialog.ts'

const age = 'Oldest calibration that still counts'

test('lists every rule with its value, default, range and source', async ({ own: { houseRules } }) => {
  await houseRules.open()
  const labels = await houseRules.labels()
  expect([...labels].sort()).toEqual(Object.values(houseRuleDefinitions).map(({ label }) => label).sort())
  await expect(houseRules.field(age)).toHaveValue('365')
  await expect(houseRules.row(age).getByRole('cell')).toContainText(['days', '365', '1 to 3,650 days', 'Common practice'])
})

test('refuses a value at its field, in a sentence', async ({ own: { houseRules } }) => {
  await houseRules.open()
  for (const [typed, sentence] of [
    ['5000', '5,000 days is out of range; 1 to 3,650 days is accepted.'],
    ['a year', '“a year” is not a number; 1 to 3,650 days is accepted.'],
    ['', 'The value is empty; 1 to 3,650 days is accepted.'],
  ] as const) {
    await houseRules.set(age, typed)
    await expect(houseRules.problem(age)).toHaveText(sentence)
    await expect(houseRules.field(age)).toHaveAccessibleDescription(sentence)
  }
  await houseRules.field(age).press('Escape')
  await expect(houseRules.field(age)).toHaveValue('365')
  await expect(houseRules.problem(age)).toHaveCount(0)
})

test('asks for a name, saves, marks the change, judges the fleet by it, and goes back', async ({ own: { houseRules, roster } }) => {
  const { page } = houseRules
  await houseRules.open()
  await houseRules.set(age, '180')
  await page.keyboard.press('Enter')
  await expect(personDialog(page).getByRole('alert')).toHaveText('Your name is empty; the change log keeps who did it.')
  await sayName(page, 'M. Tarn')
  await expect(page.getByText(`Saved. ${age}: 180 days.`)).toBeVisible()
  await expect(houseRules.row(age).getByRole('rowheader')).toHaveText(`${age}changed`)
  await page.getByRole('checkbox', { name: 'Changed rules only (1)' }).check()
  expect(await houseRules.labels()).toHaveLength(1)

  await roster.open('?finding=age-over-limit')
  await expect(roster.line('T-303')).toBeVisible()

  await houseRules.open()
  await page.reload()
  await expect(houseRules.field(age)).toHaveValue('180')
  await houseRules.row(age).getByRole('button', { name: /^Back to default/ }).click()
  await expect(houseRules.field(age)).toHaveValue('365')
  await expect(houseRules.row(age).getByRole('rowheader')).toHaveText(age)
  await roster.open('?finding=age-over-limit')
  await expect(page.getByText('No unit matches these filters.')).toBeVisible()
})

test('finds rules by words, and says when there are none', async ({ own: { houseRules } }) => {
  const { page } = houseRules
  await houseRules.open()
  await page.getByRole('searchbox', { name: 'Find a rule' }).fill('limit tandem')
  expect(await houseRules.labels()).toContain('Limit of a tandem whose own is not recorded')
  await page.getByRole('searchbox', { name: 'Find a rule' }).fill('nothing like this')
  await expect(page.getByText('No rule matches.')).toBeVisible()
  await page.getByRole('button', { name: 'Show every rule' }).click()
  await page.getByRole('checkbox', { name: 'Changed rules only (0)' }).check()
  await expect(page.getByText('Every rule stands at its default.')).toBeVisible()
})
