import { globSync, readFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { expect, it } from 'vitest'

const parts = resolve(import.meta.dirname, '../../renderer/parts')
const sheets = globSync('*.css', { cwd: parts })

it('every style of a part stands in its layer, so that a screen’s own rule wins whichever file is imported first', () => {
  expect(sheets.length).toBeGreaterThan(10)
  const outside = sheets.filter(
    (sheet) => !/^@layer parts \{\n(?: .*\n|\n)*\}\n$/.test(readFileSync(join(parts, sheet), 'utf8')),
  )
  expect(outside).toEqual([])
})
