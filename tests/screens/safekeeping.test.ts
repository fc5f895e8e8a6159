import { mkdirSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from './fixtures.ts'
import { violations } from './violations.ts'

test('by keyboard: look the file over, rehearse a restore, and choose a second place for the copies', async ({
  smallApp,
  page,
}) => {
  await smallApp.client.copies.keep()
  await page.goto(`${smallApp.origin}/#/copies`)
  await page.getByRole('link', { name: 'a second place' }).click()
  await expect(page.getByRole('heading', { name: 'Safekeeping of fleet.tareline', level: 1 })).toBeFocused()
  const part = (name: string) => page.getByRole('region', { name })

  await part('The file').getByRole('button', { name: 'Look it over now' }).focus()
  await page.keyboard.press('Enter')
  await expect(part('The file')).toContainText('as somebody asked for it')
  await expect(part('The file')).toContainText('whole')

  await part('A restore, rehearsed').getByRole('button', { name: 'Rehearse a restore now' }).focus()
  await page.keyboard.press('Enter')
  await expect(part('A restore, rehearsed')).toContainText(/all [\d,]+ rows came back/)

  const place = part('A second place')
  await place.getByRole('textbox').fill(join(smallApp.folder, 'drive'))
  await page.keyboard.press('Enter')
  await expect(place.getByRole('alert')).toContainText('is not there: the drive may be unplugged')
  mkdirSync(join(smallApp.folder, 'drive'))
  await place.getByRole('textbox').focus()
  await page.keyboard.press('Enter')
  await expect(place).toContainText(/Newest there.*the copy of/)
  await expect(place).toContainText('on the same disk as the fleet file')
  expect(readdirSync(join(smallApp.folder, 'drive/fleet.tareline copies'))).toHaveLength(1)
  expect(await violations(page)).toEqual([])
  await place.getByRole('button', { name: 'Bring no more copies there' }).click()
  await expect(place.getByRole('textbox', { name: 'Folder for the second copies' })).toBeVisible()
})
