import { afterEach, expect, it } from 'vitest'
import { correctedAction } from '#core/store/evidence.ts'
import { voidedAction } from '#core/store/save-weigh-in.ts'
import { attached, takenOff } from '#core/store/ticket-attachments.ts'
import { speechIn } from '#core/words/catalogues.ts'
import { wordOf } from '#core/words/listed-words.ts'
import { english, languages, offeredLanguages, speakBy } from '#core/words/phrase.ts'

afterEach(() => speakBy(() => english))

it.each(offeredLanguages.filter((language) => language !== 'en'))(
  'the log says in %s what was done, also where one place alone writes the word',
  async (language) => {
    const speech = await speechIn(language, languages[language].locale)
    speakBy(() => speech)
    for (const action of [correctedAction, voidedAction, attached, takenOff])
      expect(wordOf(action), action).not.toBe(action)
  },
)
