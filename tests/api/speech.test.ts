import { safe } from '@orpc/client'
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { cabCardsInThread } from '#core/jobs/in-thread.ts'
import { speechHeader, speechIn } from '#core/words/catalogues.ts'
import { english, speakBy } from '#core/words/phrase.ts'
import { bringInSmallFleet, clientOver, ways } from '#tests/api/windows.ts'
import { smallFleet, writeFiles } from '#tests/exchange/small-fleet.ts'
import { enter, runApp } from '#tests/loopback/running-app.ts'

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

describe('what the service says without a screen of its own', () => {
  it('is in the language of the window: a folder that is refused, row by row', async () => {
    await using app = await runApp()
    const { client } = await clientOver('HTTP', app, undefined, { [speechHeader]: 'es;es-US' })
    const folder = join(app.folder, 'wrong')
    mkdirSync(folder)
    const small = smallFleet()
    writeFiles(folder, {
      ...small,
      'units.csv': `${small['units.csv']}V-202,barge,,,,,,,Nowhere,,\n`,
    })
    const steps = await client.folder.bringIn({ folder })
    const stages: string[] = []
    let step = await steps.next()
    for (; !step.done; step = await steps.next()) stages.push(step.value.stage)
    expect(stages).toContain('Leyendo units.csv')
    const problems = step.value.outcome === 'refused' ? step.value.problems.map(({ message }) => message) : []
    expect(problems).toEqual(['units.csv, línea 4, kind: no se acepta "barge"; sí tractor, trailer o truck.'])
  })

  it('is in the language of the window: a picked file that is none of a folder', async () => {
    await using app = await runApp()
    const mine = await enter(app)
    const put = (tag: string) =>
      fetch(`${app.origin}/inbox/some-inbox/notes.txt`, {
        method: 'PUT',
        headers: { ...mine, [speechHeader]: tag },
        body: 'x',
      }).then((answer) => answer.text())
    expect(await put('es;es-US')).toContain('notes.txt no es un archivo de una carpeta de la flota.')
    expect(await put('fr-CA;fr-CA')).toContain('notes.txt n’est pas un fichier d’un dossier de flotte.')
    expect(await put('en;en-US')).toContain('notes.txt is not a file of a fleet folder.')
  })
})

it('the shop’s work is said to each window in its language, whichever asked first', async () => {
  await using app = await runApp()
  const first = await clientOver('HTTP', app)
  await bringInSmallFleet(app, first.client)
  const listIn = async (tag: string) => {
    const { client } = await clientOver('HTTP', app, first.known, { [speechHeader]: tag })
    return (await client.bench.csv({ when: 'all' })).text
  }
  expect(await listIn('es;es-US')).toMatch(/Recalibrar|Cambiar/)
  expect(await listIn('fr-CA;fr-CA')).toMatch(/Réétalonner|Remplacer/)
  expect(await listIn('en;en-US')).toMatch(/Recalibrate|Swap/)
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
