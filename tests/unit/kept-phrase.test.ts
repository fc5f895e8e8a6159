import { afterEach, describe, expect, it } from 'vitest'
import es from '#core/words/languages/es.json' with { type: 'json' }
import { keepPhrase, sayKept } from '#core/words/kept-phrase.ts'
import { english, phraseLater, speakBy } from '#core/words/phrase.ts'

afterEach(() => speakBy(() => english))

describe('a sentence that is kept in a note', () => {
  const found = keepPhrase(
    phraseLater('{brokenReferences, plural, one {# broken reference} other {# broken references}}'),
    {
      brokenReferences: 2,
    },
  )

  it('is said in the language of whoever reads it, with those kept in it', () => {
    const kept = keepPhrase(phraseLater('What came back is not whole: {found}.'), { found })
    expect(sayKept(kept)).toBe('What came back is not whole: 2 broken references.')
    speakBy(() => ({ language: 'es', locale: 'es-US', catalogue: es }))
    expect(sayKept(kept)).toBe('Lo que volvió no está completo: 2 referencias rotas.')
  })

  it('stays as it is where it was kept as it was said', () => {
    speakBy(() => ({ language: 'es', locale: 'es-US', catalogue: es }))
    expect(sayKept('Rows came back other than they are in the copy.')).toBe(
      'Rows came back other than they are in the copy.',
    )
    expect(sayKept('')).toBe('')
  })
})
