import { safe } from '@orpc/client'
import { describe, expect, it } from 'vitest'
import { cabCardsInThread } from '#core/jobs/in-thread.ts'
import { speechHeader, speechIn } from '#core/words/catalogues.ts'
import { english, speakBy } from '#core/words/phrase.ts'
import { bringInSmallFleet, clientOver, ways } from '#tests/api/windows.ts'
import { runApp } from '#tests/loopback/running-app.ts'

describe.each(ways)('over %s', (way) => {
  it('a call is answered in the language of its window, and one that names none in English', async () => {
    await using app = await runApp()
    const first = await clientOver(way, app)
    const said = async (tag: string | null) => {
      const headers: Record<string, string> = tag === null ? {} : { [speechHeader]: tag }
      const known = way === 'HTTP' ? first.known : undefined
      const { client, close } = await clientOver(way, app, known, headers)
      const { error } = await safe(client.today.page({ yard: 'Nowhere' }))
      close()
      return error?.message
    }
    expect(await said('es;es-US')).toBe('No hay ningún patio Nowhere en esta flota.')
    expect(await said(null)).toBe('There is no yard Nowhere in this fleet.')
    expect(await said('xx;yy')).toBe('There is no yard Nowhere in this fleet.')
    expect(await said('fr-CA;fr-CA')).toMatch(/^Il n’y a .*Nowhere/)
    // Two at a time do not speak with each other's tongue.
    const both = await Promise.all([said('es;es-US'), said('fr-CA;fr-CA'), said('es;es-US'), said(null)])
    expect(new Set(both).size).toBe(3)
    first.close()
  })
})

it('what a thread makes is in the language of whoever asked for it', async () => {
  await using app = await runApp()
  const { client } = await clientOver('HTTP', app)
  await bringInSmallFleet(app, client)
  const { file } = await client.file.state()
  const { units } = await client.weigh.combinations()
  const titled = async () => {
    const pages = await cabCardsInThread(file, [units[0]?.unit ?? '', units[1]?.unit ?? ''], Date.UTC(2026, 2, 1))
    return Buffer.from(pages).toString('latin1')
  }
  expect(await titled()).toContain('Cab cards, 2026')
  const spanish = await speechIn('es', 'es-US')
  speakBy(() => spanish)
  try {
    expect(await titled()).toContain('Tarjetas de cabina, 2026')
  } finally {
    speakBy(() => english)
  }
})
