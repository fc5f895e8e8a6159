import { expect, it } from 'vitest'
import { type House, goodPassword, runHouse } from '#tests/api/desk.ts'

const withHouse = async (work: (house: House) => Promise<void>) => {
  await using house = await runHouse()
  await work(house)
}

it('smoke', () =>
  withHouse(async ({ here, signedIn, desk, door }) => {
    expect(await here.people.standing()).toEqual({ at: 'house machine' })
    const stranger = desk()
    expect(await stranger.client.people.standing()).toEqual({ at: 'desk', person: null })
    await expect(stranger.client.roster.list()).rejects.toMatchObject({ status: 401 })
    const kim = await signedIn('manager', { name: 'Kim' })
    expect(kim.given[0]).toMatch(/^__Host-tareline-[0-9a-f]{12}=[\w-]{43}; Path=\/; Secure; HttpOnly; SameSite=Strict; Max-Age=43200$/)
    expect((await kim.client.roster.list()).rows).toEqual([])
    await kim.client.fleet.save({ subject: 'yard', id: null, was: {}, values: { name: 'North' }, reason: null, localZone: null, workedAt: null, by: 'Somebody else' })
    expect((await kim.client.log.list({})).rows[0]).toMatchObject({ by: 'Kim' })
    const lee = await signedIn('driver', { units: ['T-101'] })
    await expect(lee.client.roster.list()).rejects.toMatchObject({ status: 403 })
    await expect(lee.client.weigh.preview({ units: ['T-102'] })).rejects.toMatchObject({ status: 403 })
    console.log((await here.people.log({})).rows.map((r) => r.what))
    await expect(desk().client.people.signIn({ name: 'kim', password: 'x' })).rejects.toMatchObject({ data: { code: 'wrong-password' } })
    await desk().client.people.signIn({ name: ' KIM', password: goodPassword })
  }))
