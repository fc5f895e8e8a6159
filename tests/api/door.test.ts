import { existsSync, readFileSync, readdirSync, statSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { unzipSync } from 'fflate'
import { afterEach, describe, expect, it, vi } from 'vitest'
import { openDoor } from '#core/door/door.ts'
import { peopleFileOf } from '#core/store/people/people-file.ts'
import { timeNow } from '#core/store/clock.ts'
import { type Desk, type House, goodPassword, runHouse } from '#tests/api/desk.ts'
import { bringInSmallFleet } from '#tests/api/windows.ts'

const withHouse = async (work: (house: House) => Promise<void>) => {
  await using house = await runHouse()
  await work(house)
}

const codeOf = (refused: Promise<unknown>): Promise<unknown> =>
  refused.then(
    () => 'let in',
    (error: { status?: number; data?: { code?: string } }) => error.data?.code ?? error.status,
  )

/** The clock goes on by so many hours. */
const later = (hours: number) => {
  vi.stubEnv('TARELINE_CLOCK', new Date(timeNow() + hours * 3_600_000 - process.uptime() * 1000).toISOString())
}
afterEach(() => {
  vi.unstubAllEnvs()
})

const filesIn = (folder: string): string[] =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .map((name) => join(folder, name))
    .filter((file) => statSync(file).isFile())

describe('coming in', () => {
  it('takes a name and its password, and gives a cookie of this host, for HTTPS, that scripts cannot read', () =>
    withHouse(async ({ here, desk }) => {
      expect(await here.people.standing()).toEqual({ at: 'house machine' })
      const { token } = await here.people.invite({ name: 'Kim Vale', role: 'counter', units: [] })
      const kim = desk()
      expect(await kim.client.people.standing()).toEqual({ at: 'desk', person: null })
      expect(await kim.client.people.invitation({ token })).toMatchObject({ name: 'Kim Vale', role: 'counter' })
      await kim.client.people.accept({ token, password: goodPassword })
      expect(kim.given).toEqual([
        expect.stringMatching(
          /^__Host-tareline-[0-9a-f]{12}=[\w-]{43}; Path=\/; Secure; HttpOnly; SameSite=Strict; Max-Age=43200$/,
        ),
      ])
      const again = desk()
      expect(await again.client.people.signIn({ name: ' kim  VALE', password: goodPassword })).toEqual({
        name: 'Kim Vale',
        role: 'counter',
        units: [],
      })
      expect(await again.client.people.standing()).toMatchObject({ at: 'desk', person: { name: 'Kim Vale' } })
      await again.client.people.signOut()
      expect(again.given.at(-1)).toContain('Max-Age=0')
      expect(await again.client.people.standing()).toEqual({ at: 'desk', person: null })
      expect((await here.people.log({})).rows.map(({ what }) => what)).toEqual([
        'Kim Vale signed out.',
        'Kim Vale signed in.',
        'Kim Vale chose a password by a one-time link.',
        'The house machine invited Kim Vale as the counter.',
      ])
    }))

  it('refuses wrong names and passwords alike, then has them wait, and says for how long', () =>
    withHouse(async ({ here, signedIn, desk }) => {
      await signedIn('shop', { name: 'Ola' })
      const tryIn = (name: string, password: string) => desk().client.people.signIn({ name, password })
      const said = (refused: Promise<unknown>) =>
        refused.then(
          () => 'let in',
          (error: Error) => error.message.replace(/\d+ seconds?/, 'N seconds'),
        )
      const wrong = 'The name or the password is wrong. Who has forgotten it gets a new link from a manager.'
      expect(await said(tryIn('nobody', goodPassword))).toBe(wrong)
      // All at once is no way around.
      const told = await Promise.all(
        ['Ola', 'OLA', ' ola', 'ola ', 'oLa', 'Ola', 'Ola', 'Ola'].map((name) =>
          said(tryIn(name, 'wrong words in a row')),
        ),
      )
      const wait = 'There were too many tries. Try again in N seconds; a manager can make a new link meanwhile.'
      expect(told).toEqual([...Array.from({ length: 5 }, () => wrong), wait, wait, wait])
      const log = (await here.people.log({})).rows.map(({ what }) => what)
      expect(log.filter((what) => what === 'A wrong name or password was given for Ola.')).toHaveLength(5)
      expect(log).toContain('A wrong name or password was given for Somebody.')
      expect(log).toContain('Ola was not let in: too many tries.')
    }))

  it('uses a one-time link once, for 48 hours, and a later one in place of it', () =>
    withHouse(async ({ here, desk }) => {
      const first = await here.people.invite({ name: 'Bo', role: 'shop', units: [] })
      const [{ id = 0 } = {}] = (await here.people.list()).people
      const second = await here.people.newLink({ id })
      const accept = ({ token }: { token: string }) =>
        codeOf(desk().client.people.accept({ token, password: goodPassword }))
      expect(await accept(first)).toBe('no-such-link')
      expect(await codeOf(desk().client.people.accept({ token: second.token, password: 'short' }))).toBe('password')
      // Two at once: the link is good for one of them.
      expect((await Promise.all([accept(second), accept(second)])).toSorted()).toEqual(['let in', 'no-such-link'])
      expect(await accept(second)).toBe('no-such-link')
      const third = await here.people.newLink({ id })
      later(49)
      expect(await accept(third)).toBe('no-such-link')
      expect(await codeOf(desk().client.people.invitation({ token: third.token }))).toBe('no-such-link')
    }))
})

describe('a session', () => {
  it('ends after twelve hours, when it is ended, and with a change of role or password', () =>
    withHouse(async ({ here, signedIn, desk }) => {
      const max = await signedIn('manager', { name: 'Max' })
      const signIn = async (): Promise<Desk> => {
        const own = desk()
        await own.client.people.signIn({ name: 'Max', password: goodPassword })
        return own
      }
      const other = await signIn()
      const state = ({ client }: Desk) => codeOf(client.roster.list())
      const { people } = await max.client.people.list()
      expect(people[0]?.sessions.map(({ own }) => own)).toEqual([false, true])
      await max.client.people.endSessions({ session: people[0]?.sessions[0]?.id ?? 0 })
      expect([await state(max), await state(other)]).toEqual(['let in', 401])

      const third = await signIn()
      await max.client.people.changePassword({ old: goodPassword, new: 'five other words in rows' })
      expect([await state(max), await state(third)]).toEqual(['let in', 401])
      expect(await codeOf(max.client.people.changePassword({ old: goodPassword, new: goodPassword }))).toBe(
        'wrong-password',
      )
      const id = people[0]?.id ?? 0
      expect(await codeOf(here.people.change({ id, role: 'shop', units: [] }))).toBe('last-manager')
      expect(await codeOf(here.people.end({ id }))).toBe('last-manager')
      await signedIn('manager', { name: 'Ida' })
      await here.people.change({ id, role: 'shop', units: [] })
      expect(await state(max)).toBe(401)

      const last = desk()
      await last.client.people.signIn({ name: 'Max', password: 'five other words in rows' })
      later(12.1)
      expect(await state(last)).toBe(401)
    }))

  it('is found by its own cookie only: forged, foreign, cut and old ones are refused, and logged', () =>
    withHouse(async ({ here, signedIn, desk }) => {
      const { cookie = '' } = await signedIn('manager')
      const [name = '', token = ''] = cookie.split('=')
      const tried = [
        `${name}=${'A'.repeat(43)}`,
        `${name}=${token.slice(0, -1)}${token.endsWith('A') ? 'B' : 'A'}`,
        `${name}=${token.slice(0, 20)}`,
        `${name}=${token}x`,
        `x${name}=${token}`,
        `__Host-tareline-000000000000=${token}`,
        `${name}="${token}"`,
        token,
        '',
        `${name}=; ${name}`,
      ]
      for (const forged of tried)
        expect([forged, await codeOf(desk({ cookie: forged }).client.roster.list())]).toEqual([forged, 401])
      // A neighbor's cookie of the same name may stand before ours.
      expect(await codeOf(desk({ cookie: `a=b; ${tried[0]}; ${cookie}` }).client.roster.list())).toBe('let in')
      expect((await here.people.log({})).rows.map(({ what }) => what)).toContain(
        'A cookie was refused: unknown, ended or too old.',
      )
    }))

  it('of somebody who may no longer come in is over, and the name is not given again', () =>
    withHouse(async ({ here, signedIn, desk }) => {
      const tom = await signedIn('counter', { name: 'Tom' })
      const [{ id = 0 } = {}] = (await here.people.list()).people
      await here.people.end({ id })
      expect(await codeOf(tom.client.roster.list())).toBe(401)
      expect(await codeOf(desk().client.people.signIn({ name: 'Tom', password: goodPassword }))).toBe('wrong-password')
      expect(await codeOf(here.people.invite({ name: 'tOM', role: 'shop', units: [] }))).toBe('name-taken')
      const { token } = await here.people.newLink({ id })
      await desk().client.people.accept({ token, password: goodPassword })
      expect((await here.people.list()).people[0]).toMatchObject({ name: 'Tom', state: 'active' })
    }))
})

describe('the file of people', () => {
  it('is its owner’s alone, keeps no password and no cookie, and is in no copy, folder or bundle', () =>
    withHouse(async ({ app, here, signedIn, door }) => {
      await bringInSmallFleet(app, here)
      const zoe = await signedIn('manager', { name: 'Zoe Quarrington' })
      const token = zoe.cookie?.split('=')[1] ?? ''
      const file = peopleFileOf(app.context.fleet.file())
      expect(door.file).toBe(file)
      if (process.platform !== 'win32') expect((statSync(file).mode & 0o777).toString(8)).toBe('600')
      const raw = new Database(file, { readonly: true })
      const secrets = [
        raw.prepare('select password from person').pluck().get() as string,
        raw.prepare('select token_hash from session').pluck().get() as string,
        'Zoe Quarrington',
        goodPassword,
        token,
      ]
      raw.close()
      expect(secrets[0]).toMatch(/^scrypt\$15\$8\$3\$[\w-]{22}\$[\w-]{43}$/)
      const kept = readFileSync(file)
      expect(secrets.map((secret) => kept.includes(secret))).toEqual([true, true, true, false, false])

      await here.copies.keep()
      await here.folder.writeOut({ folder: join(app.folder, 'out') })
      const bundle = await here.about.supportBundle({ withFleet: true })
      const written = [
        ...filesIn(app.folder)
          .filter((each) => !each.startsWith(file))
          .map((each) => [each, readFileSync(each)] as const),
        ...Object.entries(unzipSync(new Uint8Array(await bundle.arrayBuffer()))).map(
          ([name, bytes]) => [name, Buffer.from(bytes)] as const,
        ),
      ]
      expect(written.length).toBeGreaterThan(15)
      expect(
        written.flatMap(([name, bytes]) =>
          secrets.flatMap((secret) => (bytes.includes(secret) ? [`${name} holds ${secret}`] : [])),
        ),
      ).toEqual([])
    }))

  it('is refused where another program’s database lies in its place, and opened again as it was', () =>
    withHouse(async ({ app, signedIn }) => {
      await signedIn('owner', { name: 'Una' })
      const again = await openDoor(app.context.fleet.file())
      expect((await again.list()).map(({ name }) => name)).toEqual(['Una'])
      await again.close()
      const other = join(app.folder, 'other.tareline')
      const raw = new Database(peopleFileOf(other))
      raw.exec('create table letter (text)')
      raw.close()
      await expect(openDoor(other)).rejects.toMatchObject({ code: 'not-a-database' })
      expect(existsSync(other)).toBe(false)
    }))
})

it('takes no passkey that it has not asked for, and asks for none where it is opened by a number', () =>
  withHouse(async ({ signedIn, desk, here }) => {
    const { client } = await signedIn('counter', { name: 'Ada' })
    const { challenge } = await client.people.passkeyToMake()
    expect(challenge).toMatch(/^[\w-]{43}$/)
    const passkey = { id: 'YWJj', rawId: 'YWJj', type: 'public-key' as const, clientExtensionResults: {} }
    const said = Buffer.from(
      JSON.stringify({ type: 'webauthn.create', challenge, origin: 'https://elsewhere:8443' }),
    ).toString('base64url')
    const made = { ...passkey, response: { clientDataJSON: said, attestationObject: 'oA' } }
    expect(await codeOf(client.people.keepPasskey({ passkey: made }))).toBe('passkey-refused')
    expect(await client.people.passkeys()).toEqual([])
    const used = { ...passkey, response: { clientDataJSON: said, authenticatorData: 'oA', signature: 'oA' } }
    expect(await codeOf(desk().client.people.signInByPasskey({ passkey: used }))).toBe('passkey-refused')
    expect((await here.people.log({})).rows.map(({ what }) => what)).toContain(
      'A passkey was refused: unknown, or not answered as it was asked.',
    )
    const byNumber = desk({ origin: 'https://10.0.0.5:8443' }).client
    expect(await codeOf(byNumber.people.passkeyChallenge())).toBe('no-name')
  }))

it('on one machine alone nobody signs in', () =>
  withHouse(async ({ app }) => {
    const { clientOver } = await import('#tests/api/windows.ts')
    const { client, close } = await clientOver('a message port', app)
    expect(await client.people.standing()).toEqual({ at: 'alone' })
    expect(await codeOf(client.people.list())).toBe('alone')
    expect(await codeOf(client.people.signIn({ name: 'Kim', password: goodPassword }))).toBe('alone')
    close()
  }))
