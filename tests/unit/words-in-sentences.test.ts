import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { sayDue } from '#core/findings/next-due.ts'
import { speechIn } from '#core/words/catalogues.ts'
import { english, speakBy } from '#core/words/phrase.ts'
import { sayStored } from '#core/words/say.ts'
import { findingSentences } from '#core/words/sentences/findings.ts'
import { sayThenNow } from '#core/words/sentences/look-back.ts'
import { sayLoad } from '#core/words/sentences/weigh-next.ts'

const say = sayStored('UTC')
const at = Date.UTC(2026, 2, 1, 12)

describe('a word of a closed list that stands in a sentence', () => {
  beforeEach(async () => {
    const spanish = await speechIn('es', 'es-MX')
    speakBy(() => spanish)
  })
  afterEach(() => speakBy(() => english))

  it('is of the sentence’s language where a verdict has changed', () => {
    expect(sayThenNow('over', 'too close to call')).toBe('se dijo sobre, ahora muy justo para decidir')
  })

  it('is so where a load is asked for', () => {
    expect(sayLoad('loaded', null)).toBe('cargado')
    expect(sayLoad('empty', 'raised')).toContain('vacío')
  })

  it('is so where a lift axle stood otherwise than the line knows', () => {
    const { readings } = findingSentences['lift-state-mismatch']
    const { message, nextStep } = readings({ readings: 2, from: at, taken: 'lowered', calibrated: 'raised' }, say)
    expect(`${message} ${nextStep}`).not.toMatch(/raised|lowered/)
    expect(message).toContain('abajo')
  })

  it('is so where something is due at once', () => {
    expect([sayDue('now'), sayDue('2026-12-10'), sayDue(null)]).toEqual(['ahora', '2026-12-10', ''])
  })
})
