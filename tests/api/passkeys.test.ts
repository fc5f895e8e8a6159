import { describe, expect, it } from 'vitest'
import { mostPasskeys } from '#core/store/people/passkeys.ts'
import { type Desk, type House, runHouse } from '#tests/api/desk.ts'
import { softPasskey } from '#tests/api/soft-passkey.ts'

const origin = 'https://yard-office:8443'

const codeOf = (refused: Promise<unknown>): Promise<unknown> =>
  refused.then(
    () => 'let in',
    (error: { status?: number; data?: { code?: string } }) => error.data?.code ?? error.status ?? error,
  )

const withHouse = async (work: (house: House) => Promise<void>) => {
  await using house = await runHouse()
  await work(house)
}

const textOf = (asked: Readonly<Record<string, unknown>>): string => String(asked['challenge'])
const toMake = async ({ client }: Desk) => textOf(await client.people.passkeyToMake())
const toSignIn = async ({ client }: Desk) => textOf(await client.people.passkeyChallenge())

/** A new device with a passkey of whoever has signed in at the desk. */
async function keptAt(desk: Desk) {
  const device = softPasskey()
  await desk.client.people.keepPasskey({ passkey: device.make({ challenge: await toMake(desk), origin }) })
  return device
}

describe('a passkey', () => {
  it('lets its person in, and nobody by what was said to another house, another name, of nobody’s finger or twice', () =>
    withHouse(async ({ signedIn, desk }) => {
      const device = await keptAt(await signedIn('driver', { name: 'Lou Hart', units: ['T-101'] }))
      const tried = async (said: Partial<Parameters<typeof device.use>[0]>) => {
        const at = desk()
        const passkey = device.use({ challenge: await toSignIn(at), origin, ...said })
        return await codeOf(at.client.people.signInByPasskey({ passkey }))
      }
      expect(await tried({ origin: 'https://elsewhere:8443' })).toBe('passkey-refused')
      expect(await tried({ origin: 'https://yard-office:8444' })).toBe('passkey-refused')
      expect(await tried({ host: 'elsewhere' })).toBe('passkey-refused')
      expect(await tried({ verified: false })).toBe('passkey-refused')
      expect(await tried({ challenge: 'A'.repeat(43) })).toBe('passkey-refused')
      const at = desk()
      const passkey = device.use({ challenge: await toSignIn(at), origin })
      expect(await at.client.people.signInByPasskey({ passkey })).toMatchObject({ name: 'Lou Hart', role: 'driver' })
      expect(await codeOf(desk().client.people.signInByPasskey({ passkey }))).toBe('passkey-refused')
    }))

  it('is made by whoever was asked for it alone, and opens by no question that was put for making one', () =>
    withHouse(async ({ signedIn, desk }) => {
      const kim = await signedIn('counter', { name: 'Kim Vale' })
      const lou = await signedIn('driver', { name: 'Lou Hart' })
      const device = softPasskey()
      const kept = async (at: Desk, challenge: string) =>
        codeOf(at.client.people.keepPasskey({ passkey: device.make({ challenge, origin }) }))
      expect(await kept(lou, await toMake(kim))).toBe('passkey-refused')
      expect(await kept(lou, await toSignIn(desk()))).toBe('passkey-refused')
      const own = await keptAt(kim)
      const passkey = own.use({ challenge: await toMake(kim), origin })
      expect(await codeOf(desk().client.people.signInByPasskey({ passkey }))).toBe('passkey-refused')
      expect(await lou.client.people.passkeys()).toEqual([])
    }))

  it('is one of a few, however many were asked for before the first was kept', () =>
    withHouse(async ({ signedIn }) => {
      const kim = await signedIn('counter', { name: 'Kim Vale' })
      const asked: string[] = []
      for (let i = 0; i < mostPasskeys + 2; i += 1) asked.push(await toMake(kim))
      const told = await Promise.all(
        asked.map((challenge) =>
          codeOf(kim.client.people.keepPasskey({ passkey: softPasskey().make({ challenge, origin }) })),
        ),
      )
      expect(told.filter((each) => each === 'let in')).toHaveLength(mostPasskeys)
      expect(told.filter((each) => each === 'too-many')).toHaveLength(2)
      expect(await kim.client.people.passkeys()).toHaveLength(mostPasskeys)
    }))

  it('is not taken a second time, of the same person or another', () =>
    withHouse(async ({ signedIn, desk }) => {
      const kim = await signedIn('counter', { name: 'Kim Vale' })
      const lou = await signedIn('driver', { name: 'Lou Hart' })
      const device = await keptAt(kim)
      for (const at of [kim, lou]) {
        const passkey = device.make({ challenge: await toMake(at), origin })
        expect(await codeOf(at.client.people.keepPasskey({ passkey }))).toBe('passkey-refused')
      }
      const passkey = device.use({ challenge: await toSignIn(desk()), origin })
      expect(await desk().client.people.signInByPasskey({ passkey })).toMatchObject({ name: 'Kim Vale' })
    }))

  it('whose counter goes back or stands still is refused, also where two say the same at once', () =>
    withHouse(async ({ signedIn, desk }) => {
      const device = await keptAt(await signedIn('counter', { name: 'Kim Vale' }))
      const tried = async (counter: number) => {
        const passkey = device.use({ challenge: await toSignIn(desk()), origin, counter })
        return () => codeOf(desk().client.people.signInByPasskey({ passkey }))
      }
      expect(await (await tried(5))()).toBe('let in')
      expect(await (await tried(5))()).toBe('passkey-refused')
      expect(await (await tried(4))()).toBe('passkey-refused')
      expect(await (await tried(0))()).toBe('passkey-refused')
      const two = [await tried(6), await tried(6)]
      expect((await Promise.all(two.map((each) => each()))).toSorted()).toEqual(['let in', 'passkey-refused'])
    }))

  it('of somebody who may come in no longer opens nothing, nor after a new link', () =>
    withHouse(async ({ here, signedIn, desk }) => {
      const device = await keptAt(await signedIn('driver', { name: 'Lou Hart' }))
      const [{ id = 0 } = {}] = (await here.people.list()).people
      await here.people.end({ id })
      const tried = async () =>
        codeOf(
          desk().client.people.signInByPasskey({
            passkey: device.use({ challenge: await toSignIn(desk()), origin }),
          }),
        )
      expect(await tried()).toBe('passkey-refused')
      await here.people.newLink({ id })
      expect(await tried()).toBe('passkey-refused')
    }))

  it('still opens while another machine asks for more questions than are remembered', () =>
    withHouse(async ({ signedIn, desk }) => {
      const device = await keptAt(await signedIn('counter', { name: 'Kim Vale' }))
      const at = desk()
      const passkey = device.use({ challenge: await toSignIn(at), origin })
      const other = desk({ from: '10.0.0.66' })
      for (let i = 0; i < 1200; i += 1) await toSignIn(other)
      expect(await codeOf(at.client.people.signInByPasskey({ passkey }))).toBe('let in')
    }))
})
