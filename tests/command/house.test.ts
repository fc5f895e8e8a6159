import { spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { type AddressInfo, createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { serviceFile } from '#electron/house/service-file.ts'
import { runHere } from '#tests/command/run-here.ts'

let folder: string
let file: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-test-'))
  file = join(folder, 'fleet.tareline')
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

it('refuses what it cannot serve by, with a sentence', async () => {
  const wrong: readonly (readonly [string[], RegExp])[] = [
    [['--port', '70000'], /--port is "70000"; a whole number from 1 to 65535/],
    [['--port', 'x'], /--port is "x"/],
    [['--name', 'a b'], /--name is "a b"; the name of this machine on the network/],
    [['--name', 'house', '--certificates', join(folder, 'none')], /none cannot be read/],
  ]
  for (const [words, sentence] of wrong) {
    const { exit, error } = await runHere('house', '--db', file, ...words)
    expect([words, exit, error]).toEqual([words, 2, expect.stringMatching(sentence)])
  }
})

it('tells that its port is taken', async () => {
  const taken = createServer()
  await new Promise<void>((done) => {
    taken.listen(0, () => done())
  })
  const { port } = taken.address() as AddressInfo
  const { exit, error } = await runHere('house', '--db', file, '--port', String(port), '--name', 'yard-office')
  taken.close()
  expect([exit, error]).toEqual([2, expect.stringContaining(`Port ${port} is taken`)])
})

it('prints a service file that systemd takes, whatever its names hold', async () => {
  const { exit, out } = await runHere('house', '--db', file, '--port', '443', '--name', 'yard-office', '--service')
  expect(exit).toBe(0)
  expect(out).toContain(` house --db ${file} --port 443 --name yard-office`)
  expect(out).toContain('AmbientCapabilities=CAP_NET_BIND_SERVICE')
  const odd = serviceFile(folder, join(folder, 'a "fleet" of 100% $HOME.tareline'), {
    port: 8443,
    name: undefined,
    certificates: undefined,
  })
  expect(odd).toContain('of 100%% $$HOME.tareline"')
  if (spawnSync('systemd-analyze', ['--version']).status !== 0) return
  for (const [at, text] of [out, odd].entries()) {
    const unit = join(folder, `house-${at}.service`)
    writeFileSync(unit, text)
    const { status, stderr } = spawnSync('systemd-analyze', ['verify', '--man=no', unit], { encoding: 'utf8' })
    expect([status, stderr.split('\n').filter((line) => line.includes(`house-${at}`))]).toEqual([0, []])
  }
})
