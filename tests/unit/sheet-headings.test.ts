import { afterEach, expect, it } from 'vitest'
import { findingColumns, rosterColumns, scaleColumns } from '#core/exchange/documents/fleet-sheets.ts'
import es from '#core/words/languages/es.json' with { type: 'json' }
import { english, speakBy } from '#core/words/phrase.ts'
import { sayStored } from '#core/words/say.ts'

const say = sayStored('UTC')
afterEach(() => speakBy(() => english))

/** Every heading as it is said just now. */
const headings = () =>
  [...rosterColumns, ...findingColumns, ...scaleColumns].map(({ heading }) =>
    typeof heading === 'string' ? heading : heading(say),
  )

it('the columns of a spreadsheet are headed in the language of whoever asks, those of weights too', () => {
  const before = headings()
  speakBy(() => ({ language: 'es', locale: 'es-US', catalogue: es }))
  const inSpanish = headings()
  for (const [english, spanish] of [
    ['± at limit (95 %), lb', `${es['± at limit (95 %)']}, lb`],
    ['Division, lb', `${es['Division']}, lb`],
    ['Unit', es['Unit']],
  ] as const)
    expect(inSpanish[before.indexOf(english)]).toBe(spanish)
})
