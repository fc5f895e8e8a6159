import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, it, vi } from 'vitest'
import { app, asked, becomeReady, given } from '#tests/desktop/electron-stand-in.ts'

const folder = mkdtempSync(join(tmpdir(), 'tareline-refused-'))
const file = join(folder, 'letter.tareline')

afterAll(() => {
  app.emit('quit', {}, 0)
  rmSync(folder, { recursive: true, force: true })
})

it('says in a sentence why a file cannot be opened, opens no window, and leaves the file as it was', async () => {
  writeFileSync(file, 'Dear shop, this is a letter and not a database.')
  writeFileSync(join(folder, 'package.json'), '{ "version": "1.0.0" }')
  given.appPath = folder
  process.argv = ['electron', '.', '--db', file]
  await import('#electron/desktop/main.ts')
  becomeReady()
  await vi.waitUntil(() => asked.errorBoxes.length > 0, { timeout: 60_000 })
  expect(asked.errorBoxes).toEqual([
    `Tareline: ${file} is not a Tareline database. Choose the file of a fleet, or a new name to start one.`,
  ])
  expect(asked.exitCodes).toEqual([2])
  expect(asked.windows).toEqual([])
  expect(readFileSync(file, 'utf8')).toMatch(/^Dear shop/)
})
