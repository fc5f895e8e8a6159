import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { zip } from '#core/exchange/documents/zip.ts'

it('is read by a program that is not ours, byte for byte, with its time', () => {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-zip-'))
  try {
    const entries = [
      { name: 'empty.txt', bytes: new Uint8Array() },
      { name: 'a/words.txt', bytes: Buffer.from('ärger\r\n'.repeat(5000)) },
      { name: 'a/noise.bin', bytes: Uint8Array.from({ length: 70_000 }, (_, at) => (at * 2_654_435_761) >>> 24) },
    ]
    const file = join(folder, 'x.zip')
    writeFileSync(file, zip(entries, Date.parse('2026-03-01T12:34:56Z')))
    execFileSync('unzip', ['-tqq', file])
    execFileSync('unzip', ['-q', file, '-d', folder])
    for (const { name, bytes } of entries)
      expect(readFileSync(join(folder, name)).equals(Buffer.from(bytes))).toBe(true)
    expect(execFileSync('unzip', ['-l', file], { encoding: 'utf8' })).toContain('2026-03-01 12:34')
    expect(zip(entries, 0x1_0000_0000_00)).toEqual(zip(entries, 0x1_0000_0000_00))
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
})
