import { afterEach, describe, expect, it, vi } from 'vitest'
import { speechOfTag } from '#core/words/catalogues.ts'
import { figures } from '#core/words/numbers.ts'
import { english, phraseIn, speakBy } from '#core/words/phrase.ts'
import { remember } from '#core/words/remember.ts'

describe('what is made once', () => {
  it('is made once for a key, and anew once so many others came after it', () => {
    const asked: string[] = []
    const lengthOf = remember<number>(2)
    const ask = (key: string) =>
      lengthOf(key, () => {
        asked.push(key)
        return key.length
      })
    expect(['a', 'bb', 'a', 'bb', 'ccc', 'bb', 'a'].map(ask)).toEqual([1, 2, 1, 2, 3, 2, 1])
    expect(asked).toEqual(['a', 'bb', 'ccc', 'a'])
  })
})

describe('a caller that names another locale with each call', () => {
  afterEach(() => {
    speakBy(() => english)
    vi.restoreAllMocks()
  })

  it('has what is made for them forgotten again, and is spoken to all the same', async () => {
    const tags = Array.from({ length: 2000 }, (_, i) => `en;de-x-odd${i}`)
    const say = async (tag = '') => {
      const speech = await speechOfTag(tag)
      speakBy(() => speech)
      return [figures()(12_340.5), phraseIn(speech, 'one of {n, number}', { n: 1200 })]
    }
    for (const tag of tags) expect(await say(tag)).toEqual(['12.340,5', 'one of 1.200'])
    const made = vi.spyOn(Intl, 'NumberFormat')
    await say(tags.at(-1))
    expect(made).not.toHaveBeenCalled()
    await say(tags[0])
    expect(made).toHaveBeenCalled()
  })

  it('gets no locale that is none, however long its text', async () => {
    for (const odd of [
      'en;',
      'en;\u0000',
      `en;${'de-'.repeat(50_000)}`,
      `en;de${'-x'.repeat(9)}`,
      ';;;',
      '__proto__;toString',
    ])
      expect(await speechOfTag(odd)).toMatchObject({ language: 'en' })
    expect((await speechOfTag(`en;${'de-'.repeat(50_000)}`)).locale).toBe('en-US')
  })
})
