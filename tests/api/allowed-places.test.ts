import { safe } from '@orpc/client'
import fc from 'fast-check'
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join, sep } from 'node:path'
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest'
import { type AllowedPlaces, allowedPlaces } from '#core/api/allowed-places.ts'
import { pathComplaint } from '#core/contracts/within.ts'
import { type ListedProcedure, procedureList, shapeOf } from '#tests/api/procedure-list.ts'
import { clientOver } from '#tests/api/windows.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'
import { placesIn } from '#tests/fleet/places.ts'
import { runApp } from '#tests/loopback/running-app.ts'

let root: string
let own: string
let outside: string
let places: AllowedPlaces
beforeEach(() => {
  root = realpathSync(mkdtempSync(join(tmpdir(), 'tareline-places-')))
  own = join(root, 'own')
  outside = join(root, 'outside')
  for (const folder of [own, join(own, 'in'), outside]) mkdirSync(folder)
  writeFileSync(join(outside, 'secret.csv'), 'a secret')
  places = placesIn(own)
})
afterEach(() => rmSync(root, { recursive: true, force: true }))

const counts = { 'typed paths tried': 0 }
let letIn = 0
afterAll(() => keepTally('siege-paths', { title: 'Paths that a window types', counts, failed: 0, letIn }))

const refused = { code: 'REFUSED', data: { code: 'place-not-allowed' } }
const keptIn = () => join(own, 'allowed-folders.json')

describe('a typed path', () => {
  it('is taken within the folders that are allowed from the start, also where it is not there yet', async () => {
    for (const name of ['', 'in', 'in/new/newer', 'fleet.tareline'])
      expect(await places.real(join(own, name), 'folder')).toBe(join(own, name))
  })

  it('is refused outside, with the folder that would have to be allowed', async () => {
    const secret = join(outside, 'secret.csv')
    await expect(places.real(secret, 'file')).rejects.toMatchObject({
      ...refused,
      message:
        `${secret} lies outside the folders that Tareline's windows may use. ` +
        `Allow ${outside} first, here or under About. Nothing was read or written.`,
      data: { value: outside },
    })
    await expect(places.real(join(outside, 'new'), 'folder')).rejects.toMatchObject({
      data: { value: join(outside, 'new') },
    })
    // A name that only begins alike is another folder.
    mkdirSync(`${own}-too`)
    await expect(places.real(`${own}-too`, 'folder')).rejects.toMatchObject(refused)
  })

  it('is compared by where its links lead, also those of a folder above and those that lead nowhere', async () => {
    symlinkSync(join(outside, 'secret.csv'), join(own, 'innocent.csv'))
    symlinkSync(outside, join(own, 'folder'))
    symlinkSync(join(outside, 'not-there-yet'), join(own, 'dangling'))
    symlinkSync(join(own, 'loop'), join(own, 'loop'))
    for (const name of ['innocent.csv', 'folder', 'folder/secret.csv', 'folder/new'])
      await expect(places.real(join(own, name), 'file')).rejects.toMatchObject(refused)
    for (const name of ['dangling', 'dangling/x', 'loop'])
      await expect(places.real(join(own, name), 'file')).rejects.toMatchObject({ code: 'not-readable' })
    symlinkSync(join(own, 'in'), join(outside, 'back'))
    expect(await places.real(join(outside, 'back/x'), 'file')).toBe(join(own, 'in/x'))
  })

  it('reaches nothing hidden below an allowed folder, unless that is allowed itself', async () => {
    mkdirSync(join(own, '.keys'))
    await expect(places.real(join(own, '.keys/id'), 'file')).rejects.toMatchObject(refused)
    await places.allow(join(own, '.keys'))
    expect(await places.real(join(own, '.keys/id'), 'file')).toBe(join(own, '.keys/id'))
  })

  it('never leads out of what is allowed, however it is put together', async () => {
    symlinkSync(outside, join(own, 'way'))
    symlinkSync('..', join(own, 'in/up'))
    const part = fc.constantFrom('in', 'way', 'up', '.', '..', '', 'secret.csv', 'x', 'outside', 'own', '.h')
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(own, root, outside), fc.array(part, { maxLength: 8 }), async (start, parts) => {
        const path = [start, ...parts].join(sep)
        const taken = await places.real(path, 'file').catch(() => undefined)
        const isInside = taken === undefined || taken === own || taken.startsWith(own + sep)
        counts['typed paths tried'] += 1
        if (!isInside) letIn += 1
        expect(isInside).toBe(true)
        if (taken === undefined || !existsSync(taken)) return
        expect(realpathSync(path)).toBe(taken)
      }),
      { numRuns: isNightly ? 20_000 : 500 },
    )
  })

  it.each(['/./proc/self/environ', '//dev/sda', '/a/./b', '/a/..', 'C:\\Fleet\\. \\x', 'C:\\Fleet\\x. \\y'])(
    'spelled %s is refused before the disk is looked at',
    (path) => {
      expect(pathComplaint(path)).toMatch(/is accepted$/)
    },
  )
})

describe('a folder that a person allows', () => {
  it('holds for this run and the next, is listed, kept for its user alone, and taken back', async () => {
    const { folder, why } = await places.allow(outside)
    expect([folder, why]).toEqual([outside, 'typed'])
    expect(await places.allow(outside)).toMatchObject({ folder: outside })
    expect(statSync(keptIn()).mode & 0o777).toBe(0o600)
    const next = placesIn(own)
    expect(await next.real(join(outside, 'secret.csv'), 'file')).toBe(join(outside, 'secret.csv'))
    expect((await next.list()).map((each) => [each.folder, each.why])).toEqual([
      [own, 'always'],
      [outside, 'typed'],
    ])
    await next.takeBack(outside)
    await expect(places.real(join(outside, 'secret.csv'), 'file')).rejects.toMatchObject(refused)
    await expect(places.takeBack(outside)).rejects.toMatchObject({ code: 'no-such-place' })
  })

  it('stays the one it was: a link put in its place allows nothing', async () => {
    await places.allow(outside)
    renameSync(outside, join(root, 'moved'))
    symlinkSync(join(root, 'moved'), outside)
    await expect(places.real(join(outside, 'secret.csv'), 'file')).rejects.toMatchObject(refused)
  })

  it.each(['/', '/etc', '/home'])('is not %s, which holds far more', async (folder) => {
    await expect(places.allow(folder)).rejects.toMatchObject({ code: 'too-wide' })
  })

  it('may be one that an export is still to make, and none that is nowhere or a file', async () => {
    expect(await places.allow(join(outside, 'out'))).toMatchObject({ folder: join(outside, 'out') })
    for (const path of [join(root, 'no/where'), join(outside, 'secret.csv')])
      await expect(places.allow(path)).rejects.toMatchObject({ code: 'no-folder' })
  })

  it('is picked where the system has a window for that, and typing then allows nothing', async () => {
    const picked = [outside, null]
    const asked: (string | null)[] = []
    const picking = allowedPlaces({
      keptIn: keptIn(),
      always: () => [own],
      pickFolder: async (startAt) => {
        asked.push(startAt)
        return picked.shift() ?? null
      },
    })
    await expect(picking.allow(outside)).rejects.toMatchObject({ code: 'pick-it' })
    expect(await picking.pick('/srv')).toMatchObject({ folder: outside, why: 'picked' })
    expect(await picking.pick(null)).toBeNull()
    expect(asked).toEqual(['/srv', null])
    await expect(places.pick(null)).rejects.toMatchObject({ code: 'type-it' })
  })

  it.each(['', '{', '{"folders":[{"folder":"/"}]}', '[]'])('is none where the list reads %s', async (text) => {
    writeFileSync(keptIn(), text)
    expect(await places.list()).toHaveLength(1)
    await places.allow(outside)
    expect(readFileSync(keptIn(), 'utf8')).toContain(outside)
  })
})

describe('every procedure that takes a path', () => {
  /** By procedure: what it is called with, on a path. */
  const callsOf = (path: string): Record<string, unknown> => ({
    'file.open': { path },
    'file.look': { path },
    'safekeeping.chooseSecond': { folder: path },
    'folder.bringIn': { folder: path },
    'folder.writeOut': { folder: path },
    'copies.restore': { path },
    'foreign.preview': { source: { path }, mapping: null, zone: 'UTC' },
    'heavy.export': { format: 'csv', folder: path },
  })

  it('refuses one outside over the window, reads and writes nothing, and goes on once its folder is allowed', async () => {
    await using app = await runApp()
    const { client, close } = await clientOver('HTTP', app)
    const secret = join(outside, 'secret.csv')
    for (const [name, input] of Object.entries(callsOf(secret))) {
      const [subject = '', procedure = ''] = name.split('.')
      const call = Reflect.get(Reflect.get(client, subject) as object, procedure) as (
        asked: unknown,
      ) => Promise<unknown>
      const { error } = await safe(call(input))
      expect([name, error]).toMatchObject([name, refused])
    }
    expect(readFileSync(secret, 'utf8')).toBe('a secret')
    expect(app.reported).toEqual([])
    await client.places.allow({ folder: dirname(secret) })
    expect((await client.foreign.preview({ source: { path: secret }, mapping: null, zone: 'UTC' })).columns).toEqual([
      'a secret',
    ])
    await client.places.takeBack({ folder: outside })
    expect((await client.places.list()).folders.map(({ why }) => why)).toEqual(['always'])
    close()
  })

  it('is named above', () => {
    const takesPath = ({ input }: ListedProcedure) =>
      input !== undefined && JSON.stringify(shapeOf(input)).includes('"format":"path"')
    const named = procedureList.filter(takesPath).map(({ name }) => name)
    expect(named.filter((name) => !name.startsWith('places.')).toSorted()).toEqual(
      [...Object.keys(callsOf('')), 'foreign.bringIn'].toSorted(),
    )
  })
})
