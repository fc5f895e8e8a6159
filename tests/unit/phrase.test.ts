import { describe, expect, it } from 'vitest'
import { nearestLanguage, speechIn, speechOfTag, speechTag } from '#core/words/catalogues.ts'
import { type Speech, english, phrase, phraseIn, phraseParts } from '#core/words/phrase.ts'

const units = '{count, plural, one {# unit} other {# units}} due at {yard}'
const spanish: Speech = {
  language: 'es',
  locale: 'es-US',
  catalogue: { [units]: 'En {yard}: {count, plural, one {# unidad} other {# unidades}}', 'Go on': 'Siga' },
}

describe('a sentence', () => {
  it('is its own English, with numbers as the locale writes them', () => {
    expect(phrase(units, { count: 1, yard: 'Ash Creek' })).toBe('1 unit due at Ash Creek')
    expect(phrase(units, { count: 1200, yard: 'Ash Creek' })).toBe('1,200 units due at Ash Creek')
    expect(phraseIn({ ...english, locale: 'de-DE' }, units, { count: 1200, yard: 'Ulm' })).toBe(
      '1.200 units due at Ulm',
    )
  })

  it('is that of the catalogue, in its own order of words', () => {
    expect(phraseIn(spanish, units, { count: 12000, yard: 'Ash Creek' })).toBe('En Ash Creek: 12,000 unidades')
    expect(phraseIn(spanish, 'Go on')).toBe('Siga')
  })

  it('is said in English where the catalogue has none, with English plurals', () => {
    expect(phraseIn(spanish, '{n, plural, one {# day} other {# days}}', { n: 1 })).toBe('1 day')
  })

  it('keeps what stands for a value or a tag apart from its text', () => {
    const bold = (words: (string | object)[]) => ({ words })
    const parts = phraseParts<object>(english, 'Weighed on <b>{day}</b> at {scale}', {
      b: bold,
      day: 'Monday',
      scale: { name: 'North' },
    })
    expect(parts).toEqual(['Weighed on ', { words: ['Monday'] }, ' at ', { name: 'North' }])
  })

  it('shows nothing for a value that is not there', () => {
    expect(phrase('{unit}{retired}', { unit: 'T-1', retired: null })).toBe('T-1')
  })

  it('has signs that are ICU’s own when they are quoted', () => {
    expect(phrase("'{'{a}'}' driver's", { a: 1 })).toBe("{1} driver's")
  })
})

describe('how somebody is spoken to', () => {
  it('takes English words with the numbers of any locale', async () => {
    expect(await speechIn('en', 'en-US')).toBe(english)
    expect((await speechIn('en', 'de-DE')).locale).toBe('de-DE')
    expect((await speechIn('en', 'no such')).locale).toBe('en-US')
  })

  it('takes other words with their own numbers', async () => {
    expect((await speechIn('es', 'es-MX')).locale).toBe('es-MX')
    expect((await speechIn('es', 'en-US')).locale).toBe('es-US')
    expect((await speechIn('fr-CA', 'de-DE')).locale).toBe('fr-CA')
  })

  it('goes with a call as a short text, and what is none is English', async () => {
    expect(speechTag(await speechIn('en', 'de-DE'))).toBe('en;de-DE')
    expect((await speechOfTag('en;de-DE')).locale).toBe('de-DE')
    for (const odd of [null, '', ';', 'xx;yy', '__proto__;constructor', `en;${'x'.repeat(9000)}`])
      expect((await speechOfTag(odd)).language).toBe('en')
  })

  it('is the nearest that is offered to what a browser prefers', () => {
    expect(nearestLanguage(['de-DE', 'es-MX', 'en-US'])).toBe('es')
    expect(nearestLanguage(['fr'])).toBe('fr-CA')
    expect(nearestLanguage(['en-GB', 'fr-CA'])).toBe('en')
  })

  it('is English for whoever prefers a language that is not offered', () => {
    expect(nearestLanguage(['de-DE', 'pt'])).toBe('en')
    expect(nearestLanguage([])).toBe('en')
  })
})
