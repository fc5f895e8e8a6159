import { spawnSync } from 'node:child_process'
import { chmodSync, mkdirSync, mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, afterEach, expect, it } from 'vitest'
import { firstCircuit, makeFleetFile, soundness } from '#tests/faults/fleet-files.ts'
import { type MainProcess, startMain } from '#tests/faults/main-process.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'
import { weighNow } from '#tests/fleet/typed.ts'
import { timeNow } from '#core/store/clock.ts'

/**
 * Another account of this computer, on which the program runs: it reads every list of processes and every file that it
 * may, tries to write beside them, and knocks at the window. That it can be played takes the rights of root.
 */
const isRoot = process.getuid?.() === 0
const stranger = 65_534
const counts = {
  'files and folders tried by another account': 0,
  'its looks at the list of processes': 0,
  'its knocks at the window': 0,
}
let letIn = 0
let lost = 0
let home: string | undefined
let running: MainProcess | undefined

afterEach(async () => {
  await running?.kill()
  if (home !== undefined) rmSync(home, { recursive: true, force: true })
})
afterAll(() => keepTally('siege-accounts', { title: 'Another account of the computer', counts, failed: lost, letIn }))

/** What the other account does, as a program of its own; it prints what it got hold of. */
const work = `
  const { readFileSync, writeFileSync, readdirSync, appendFileSync, existsSync, rmSync, symlinkSync } = require('node:fs')
  const [home, port] = process.argv.slice(1)
  const got = [], tried = { files: 0, processes: 0, knocks: 0 }
  const attempt = (what, work) => { tried.files += 1; try { work(); got.push(what) } catch {} }
  const paths = JSON.parse(process.env.PATHS)
  for (const path of paths) {
    attempt('read ' + path, () => readFileSync(path))
    attempt('listed ' + path, () => readdirSync(path))
    attempt('wrote ' + path, () => appendFileSync(path, 'x'))
    attempt('made a file in ' + path, () => writeFileSync(path + '/planted', 'x'))
    attempt('made a link in ' + path, () => symlinkSync('/etc/passwd', path + '/planted-link'))
    attempt('removed ' + path, () => { rmSync(path, { recursive: true }) })
  }
  // Its own process is told what to look for, which is of no use: the address has been used.
  for (const name of readdirSync('/proc').filter((each) => /^[0-9]+$/.test(each) && Number(each) !== process.pid)) {
    tried.processes += 1
    for (const part of ['cmdline', 'environ']) {
      let text = ''
      try { text = readFileSync('/proc/' + name + '/' + part, 'utf8') } catch {}
      if (text.includes(process.env.TOKEN)) got.push('the address in the ' + part + ' of ' + name)
    }
  }
  ;(async () => {
    for (const [path, init] of [
      ['/', {}], ['/enter', {}], ['/enter?token=', {}], ['/enter?token=' + 'a'.repeat(43), {}],
      ['/rpc/file/state', { method: 'POST' }], ['/rpc/file/state', { method: 'POST', headers: { 'tareline-pass': 'a'.repeat(43) } }],
      ['/rpc/places/allow', { method: 'POST', body: '{"json":{"folder":"/home"}}', headers: { 'content-type': 'application/json' } }],
      ['/inbox/aaaaaaaa/units.csv', { method: 'PUT', body: 'unit' }],
    ]) {
      tried.knocks += 1
      const { status } = await fetch('http://127.0.0.1:' + port + path, init)
      if (status < 400) got.push('an answer at ' + path)
    }
    console.log(JSON.stringify({ got, tried }))
  })()`

const below = (folder: string): string[] => [
  folder,
  ...readdirSync(folder, { recursive: true, encoding: 'utf8' }).map((name) => join(folder, name)),
]

it.skipIf(!isRoot)(
  'gets hold of nothing, and changes nothing',
  async () => {
    for (let round = 0; round < (isNightly ? 5 : 1); round += 1) {
      home = mkdtempSync(join(tmpdir(), 'tareline-accounts-'))
      // The way there stands open, so that only what the program makes keeps its own.
      chmodSync(home, 0o755)
      const before = process.umask(0o077)
      const places = join(home, 'fleet')
      mkdirSync(places, { mode: 0o755 })
      const file = await makeFleetFile(home, { name: 'fleet/first.tareline' }).finally(() => process.umask(before))
      chmodSync(places, 0o755)
      const circuit = await firstCircuit(file)
      running = startMain(file, home)
      const client = await running.ready
      await client.weigh.save(weighNow(new Date(timeNow() - 60_000).toISOString(), { [circuit]: 30 }))
      await client.copies.keep()
      await client.folder.writeOut({ folder: join(places, 'out') })
      await client.places.allow({ folder: join(home, 'elsewhere') })
      const { port, searchParams } = new URL(/http:\/\/\S+/.exec(running.said())?.[0] ?? '')
      const made = [...below(places), ...below(join(home, 'data')), ...below(join(home, 'temporary'))].filter(
        (path) => path !== places && path !== join(home ?? '', 'temporary') && path !== join(home ?? '', 'data'),
      )
      const { stdout, stderr } = spawnSync(process.execPath, ['-e', work, home, port], {
        uid: stranger,
        gid: stranger,
        env: { PATHS: JSON.stringify(made), TOKEN: searchParams.get('token') ?? '' },
        cwd: '/',
        encoding: 'utf8',
      })
      expect(stderr).toBe('')
      const { got, tried } = JSON.parse(stdout) as {
        got: string[]
        tried: Record<'files' | 'processes' | 'knocks', number>
      }
      counts['files and folders tried by another account'] += tried.files
      counts['its looks at the list of processes'] += tried.processes
      counts['its knocks at the window'] += tried.knocks
      letIn += got.length
      expect(got).toEqual([])
      expect((await client.file.state()).file).toBe(file)
      await running.kill()
      running = undefined
      const sound = await soundness(file)
      if (!/ is sound/.test(sound)) lost += 1
      expect(sound).toMatch(/ is sound/)
      rmSync(home, { recursive: true, force: true })
    }
  },
  900_000,
)
