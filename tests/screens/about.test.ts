import { execFileSync } from 'node:child_process'
import { existsSync, readFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import type { Download } from '@playwright/test'
import Database from 'better-sqlite3'
import { admit, expect, test } from './fixtures.ts'
import { AboutPage } from './pages/about-page.ts'
import { violations } from './violations.ts'

const { version } = JSON.parse(readFileSync(resolve(import.meta.dirname, '../../package.json'), 'utf8')) as {
  version: string
}

/** Unpacks with a reader that is not ours; returns the folder. */
async function unpacked(download: Download, into: string): Promise<string> {
  const file = join(into, download.suggestedFilename())
  await download.saveAs(file)
  const folder = file.replace(/\.zip$/, '')
  execFileSync('unzip', ['-q', '-o', file, '-d', folder])
  return folder
}

test('About tells what runs and where its files lie, finds a licence, and saves a bundle with the fleet only when that is ticked', async ({
  page,
  app,
}, info) => {
  await admit(page, app)
  const about = new AboutPage(page, app.origin)
  // The way there from any screen, by keyboard alone.
  await page.goto(`${app.origin}/#/roster`)
  await page.getByRole('heading', { name: 'Roster', level: 1 }).waitFor()
  await page.keyboard.press('?')
  await page.getByRole('dialog', { name: 'Help' }).getByRole('link', { name: 'About Tareline' }).press('Enter')
  await expect(page.getByRole('heading', { name: 'About Tareline', level: 1 })).toBeFocused()
  await expect(about.fact('Tareline')).toHaveText(version)
  await expect(about.fact('Node')).toHaveText(process.versions.node)
  await expect(about.fact('Fleet file')).toContainText(join(app.folder, 'fleet.tareline'))
  await expect(about.fact('Log')).toHaveText(join(app.folder, 'tareline/log'))
  expect(existsSync(join(app.folder, 'tareline/log/tareline.log'))).toBe(true)

  await page.getByLabel('Find a package or license').fill('better-sqlite')
  await expect(about.packages).toHaveCount(2)
  await page.getByRole('button', { name: 'Show the texts' }).click()
  await expect(page.getByRole('region', { name: 'Texts of the licenses' })).toContainText(
    'Permission is hereby granted',
  )

  await app.client.folder.writeOut({ folder: join(app.folder, 'out') })
  const lean = await unpacked(await about.saveBundle(), info.outputPath())
  await expect(page.getByRole('status').filter({ hasText: 'Saved as' })).toContainText('without fleet data')
  expect(existsSync(join(lean, 'fleet.tareline'))).toBe(false)
  const facts = JSON.parse(readFileSync(join(lean, 'about.json'), 'utf8')) as {
    version: string
    fleet: { file: string; whole: boolean; rows: Record<string, number> }
  }
  expect(facts).toMatchObject({ version, fleet: { file: 'fleet.tareline', whole: true, rows: { unit: 8 } } })
  const all = execFileSync(
    'cat',
    [join(lean, 'about.json'), join(lean, 'README.txt'), join(lean, 'log/tareline.log')],
    { encoding: 'utf8' },
  )
  expect(all).toContain('"what":"start"')
  expect(all).toContain('"procedure":"folder.writeOut","outcome":"done"')
  // Nothing of the fleet, and no folder of this computer.
  expect(all).not.toMatch(/T-10\d|Cinder|plate"/i)
  expect(all).not.toContain(app.folder)

  await page.getByLabel('With a copy of the whole fleet file').check()
  const whole = await unpacked(await about.saveBundle(), info.outputPath('whole'))
  await expect(page.getByRole('status').filter({ hasText: 'Saved as' })).toContainText('with the fleet file in it')
  const raw = new Database(join(whole, 'fleet.tareline'), { readonly: true })
  expect(raw.pragma('integrity_check', { simple: true })).toBe('ok')
  expect(raw.prepare('select count(*) from unit').pluck().get()).toBe(8)
  raw.close()

  expect(await violations(page)).toEqual([])
})
