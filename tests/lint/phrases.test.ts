import { describe, expect, it } from 'vitest'
import es from '#core/words/languages/es.json' with { type: 'json' }
import frCA from '#core/words/languages/fr-CA.json' with { type: 'json' }
import { type Catalogue, languages, offeredLanguages } from '#core/words/phrase.ts'
import {
  type Key,
  errorsOutside,
  keysOf,
  madeUp,
  outsideCatalogues,
  placesIn,
  sourceFrom,
  sourcesOf,
} from './phrases.ts'

const sources = sourcesOf('renderer', 'core', 'electron')
const keys: readonly Key[] = keysOf(sources)
const known = new Set(keys.map(({ key }) => key))

const catalogues: readonly (readonly [string, Catalogue])[] = [
  ['es', es],
  ['fr-CA', frCA],
]

const missingFrom = (catalogue: Catalogue) => keys.filter(({ key }) => !Object.hasOwn(catalogue, key))

describe('what the screens say', () => {
  it('stands in catalogues, every word of it', () => {
    expect(outsideCatalogues(sources.filter(({ file }) => file.startsWith('renderer/')))).toEqual([])
  })

  it('is written down where a catalogue can find it', () => {
    expect(madeUp(sources)).toEqual([])
  })

  it('is a message that can be read', () => {
    expect(keys.length).toBeGreaterThan(2000)
    for (const { key } of keys) expect(() => placesIn(key), key).not.toThrow()
  })
})

/** What only a command reads, which is English always. */
const isOfCommands = (file: string) =>
  /^(?:electron\/(?:command\/|options\.ts|house\/certificates\.ts)|core\/exchange\/publish\/)/.test(file)

it('what the service tells people stands there too', () => {
  expect(errorsOutside(sources.filter(({ file }) => !isOfCommands(file)))).toEqual([])
})

describe.each(catalogues)('the catalogue %s', (_, catalogue) => {
  it('has no sentence that nothing says', () => {
    expect(Object.keys(catalogue).filter((key) => !known.has(key))).toEqual([])
  })

  it('has the values and tags of each sentence', () => {
    const odd = Object.entries(catalogue).filter(
      ([key, text]) => JSON.stringify(placesIn(key)) !== JSON.stringify(placesIn(text)),
    )
    expect(odd).toEqual([])
  })

  it('has words for each', () => {
    expect(Object.entries(catalogue).filter(([, text]) => text.trim() === '')).toEqual([])
  })
})

it('a language is offered when its catalogue has every sentence, and not before', () => {
  const complete = catalogues.filter(([, catalogue]) => missingFrom(catalogue).length === 0).map(([name]) => name)
  const lacking = catalogues.map(([name, catalogue]) => [
    name,
    missingFrom(catalogue).length,
    missingFrom(catalogue)[0],
  ])
  expect([...offeredLanguages], JSON.stringify(lacking)).toEqual(
    Object.keys(languages).filter((language) => language === 'en' || complete.includes(language)),
  )
})

describe('the scan', () => {
  const found = (text: string) => {
    const source = sourceFrom('screen.tsx', text)
    return { outside: outsideCatalogues([source]).length, madeUp: madeUp([source]).length }
  }

  it.each([
    ['const a = <p>Nothing is due</p>', 1],
    ["const a = <p>{due ? 'Due' : 'Not due'}</p>", 2],
    ['const a = <p title="Nothing is due" />', 1],
    ["const a = <p title={due ? 'Nothing' : null} />", 1],
    ['const a = <p>{`$' + '{n} units`}</p>', 1],
    ["const a = <T heads={[['Group'], [`Limit, $" + '{unit}`]]} />', 2],
    ['const a = <Axis name="Sum" />', 1],
    ["const a = <p>{phrase('Nothing is due')}</p>", 0],
    ['const a = <p className="wide page" id="due">{n} %</p>', 0],
    ["const a = <p>{kind === 'due soon' ? 1 : 2}</p>", 0],
  ])('%s', (text, count) => {
    expect(found(text).outside).toBe(count)
  })

  it.each([
    ["new TarelineError('gone', 'It is gone.')", 1],
    ['new FieldError(code, field, `$' + '{name} is gone.`)', 1],
    ["new TarelineError('gone', isUnit ? phrase('It is gone.') : 'Gone.')", 1],
    ["new TarelineError('gone', phrase('It is gone.'))", 0],
  ])('of the service: %s', (text, count) => {
    expect(errorsOutside([sourceFrom('service.ts', text)]).length).toBe(count)
  })

  it('finds a sentence that is put together', () => {
    expect(found('const a = phrase(`$' + '{n} units`)').madeUp).toBe(1)
    expect(found("const a = phrase('units')").madeUp).toBe(0)
  })
})
