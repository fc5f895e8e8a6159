import { execFileSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { resolve } from 'node:path'
import { IntlMessageFormat } from 'intl-messageformat'
import { parseSync } from 'vite'
import { listedWords } from '#core/words/listed-words.ts'

const root = resolve(import.meta.dirname, '../..')

interface Node {
  readonly type: string
  readonly start: number
  readonly end: number
  readonly [field: string]: unknown
}

const isNode = (value: unknown): value is Node => typeof value === 'object' && value !== null && 'type' in value

/** Every node below one, with the nodes that it lies in, the nearest last. */
function* nodesBelow(node: unknown, above: readonly Node[] = []): Generator<readonly [Node, readonly Node[]]> {
  if (Array.isArray(node)) {
    for (const each of node) yield* nodesBelow(each, above)
    return
  }
  if (!isNode(node)) return
  yield [node, above]
  const inside = [...above, node]
  for (const [field, value] of Object.entries(node)) {
    if (field !== 'type' && typeof value === 'object' && value !== null) yield* nodesBelow(value, inside)
  }
}

export interface Source {
  readonly file: string
  readonly text: string
  readonly nodes: readonly (readonly [Node, readonly Node[]])[]
}

export const sourceFrom = (file: string, text: string): Source => ({
  file,
  text,
  nodes: [...nodesBelow(parseSync(file, text).program)],
})

/** The sources of the rooms, each with its syntax. */
export function sourcesOf(...rooms: readonly string[]): Source[] {
  const listed = execFileSync('git', ['ls-files', '-co', '--exclude-standard', ...rooms], {
    cwd: root,
    encoding: 'utf8',
  })
  return listed
    .split('\n')
    .filter((file) => /\.tsx?$/.test(file))
    .map((file) => sourceFrom(file, readFileSync(resolve(root, file), 'utf8')))
}

const literal = (node: unknown): string | undefined =>
  isNode(node) && node.type === 'Literal' && typeof node['value'] === 'string' ? node['value'] : undefined

const nameOf = (node: unknown): string => (isNode(node) && typeof node['name'] === 'string' ? node['name'] : '')

/** By the name of a function of sentences, which of its arguments is the sentence. */
const sayers: Readonly<Record<string, number>> = { phrase: 0, phraseLater: 0, phraseIn: 1 }

const attributesOf = (opening: Node) => opening['attributes'] as readonly Node[]

function attributeText(opening: Node, name: string): Node | undefined {
  const attribute = attributesOf(opening).find((each) => nameOf(each['name']) === name)
  const value = attribute?.['value']
  return isNode(value) && value.type === 'JSXExpressionContainer' ? (value['expression'] as Node) : (value as Node)
}

/** What is said as a sentence in a source: its node, undefined where it is no literal. */
function saidIn([node]: readonly [Node, readonly Node[]]): { readonly said: Node | undefined } | undefined {
  if (node.type === 'JSXOpeningElement' && nameOf(node['name']) === 'Phrase')
    return { said: attributeText(node, 'text') }
  const place = node.type === 'CallExpression' ? sayers[nameOf(node['callee'])] : undefined
  return place === undefined ? undefined : { said: (node['arguments'] as readonly Node[])[place] }
}

/** Where sentences are said that stand elsewhere: lists and tables whose texts are marked one by one. */
const sayListed: ReadonlySet<string> = new Set([
  'core/words/kept-phrase.ts',
  'core/words/phrase.ts',
  'core/words/listed-words.ts',
  'renderer/parts/phrase.tsx',
])

export interface Key {
  readonly key: string
  readonly file: string
}

/** Every sentence that the program can say, with a source that says it. */
export function keysOf(sources: readonly Source[]): Key[] {
  const keys = new Map<string, string>(listedWords.map((word) => [word, 'core/words/listed-words.ts']))
  for (const { file, nodes } of sources)
    for (const node of nodes) {
      const key = literal(saidIn(node)?.said)
      if (key !== undefined && !keys.has(key)) keys.set(key, file)
    }
  return [...keys].map(([key, file]) => ({ key, file }))
}

const lineAt = ({ text }: Source, at: number) => text.slice(0, at).split('\n').length

const where = (source: Source, node: Node) =>
  `${source.file}:${lineAt(source, node.start)} ${source.text.slice(node.start, node.end).slice(0, 80)}`

/** Sentences that are put together and not written down, which no catalogue can have. */
export const madeUp = (sources: readonly Source[]): string[] =>
  sources
    .filter(({ file }) => !sayListed.has(file))
    .flatMap((source) =>
      source.nodes.flatMap((node) => {
        const found = saidIn(node)
        return found && literal(found.said) === undefined ? [where(source, node[0])] : []
      }),
    )

/** The props in which a part or an element of the page takes words for people. */
const peoplesProps: ReadonlySet<string> = new Set([
  'about',
  'addLabel',
  'alt',
  'aria-label',
  'cancelLabel',
  'caption',
  'data-label',
  'description',
  'error',
  'failed',
  'head',
  'heading',
  'label',
  'listLabel',
  'note',
  'placeholder',
  'saveLabel',
  'title',
  'waiting',
  'word',
])

/** Two letters in a row, which no figure, unit or sign needs: `±`, `95 %` and `+` are the same in every language. */
const hasWords = (text: string) => /\p{L}{2}/u.test(text)

/** What needs no translation: the program's name, signs of keys, file formats, and a command to be copied. */
const sameEverywhere: ReadonlySet<string> = new Set([
  'Tareline',
  'npm run -s tareline -- house --db',
  '--port 8443',
  'SHA-256',
  'PDF',
  'PNG',
  'JPEG',
  'CSV',
  'SQLite',
  'Node',
  'lb',
  'psi',
])

/** The words of a node that a person would read as they stand: a literal, or the fixed parts of a template. */
function wordsOf(node: Node): string {
  if (node.type === 'JSXText') return String(node['value'])
  const text = literal(node)
  if (text !== undefined) return text
  if (node.type !== 'TemplateLiteral') return ''
  return (node['quasis'] as readonly Node[])
    .map((part) => String((part['value'] as { cooked: string }).cooked))
    .join(' ')
}

/** Between a text and the element or prop that shows it: what chooses between texts, and nothing else. */
const choosers: ReadonlySet<string> = new Set(['ConditionalExpression', 'LogicalExpression', 'JSXExpressionContainer'])

/** The props of tables, whose texts lie in lists, with a large letter where they are no code. */
const tableProps: ReadonlySet<string> = new Set(['heads', 'columns', 'facts', 'rows'])

/** Whether a text with a large letter stands in the lists of a table past the functions of sentences. */
function isInTable(node: Node, above: readonly Node[], words: string): boolean {
  if (node.type === 'JSXText' || !/^\p{Lu}\p{Ll}/u.test(words)) return false
  for (const each of above.toReversed()) {
    if (each.type === 'JSXAttribute') return tableProps.has(nameOf(each['name']))
    if (each.type === 'ObjectExpression' || each.type === 'BinaryExpression') return false
    if (
      each.type === 'CallExpression' &&
      (sayers[nameOf(each['callee'])] !== undefined || each['arguments'] !== undefined)
    )
      return false
  }
  return false
}

/** Whether a text is shown as it stands: as a child of an element, or in a prop for people, kept in an object too. */
function isShown(node: Node, above: readonly Node[]): boolean {
  if (node.type === 'JSXText') return true
  let inner: Node = node
  for (const each of above.toReversed()) {
    if (each.type === 'JSXElement' || each.type === 'JSXFragment') return true
    if (each.type === 'JSXAttribute') {
      const name = nameOf(each['name'])
      // What a chart calls its axis; a field's name is a code and has no large letter.
      return peoplesProps.has(name) || (name === 'name' && /^\p{Lu}\p{Ll}/u.test(wordsOf(node)))
    }
    if (each.type === 'Property')
      return each['value'] === inner && peoplesProps.has(nameOf(each['key']) || (literal(each['key'] as Node) ?? ''))
    if (!choosers.has(each.type) || each['test'] === inner) return false
    inner = each
  }
  return false
}

/** The words that a screen shows past the catalogues. */
export const outsideCatalogues = (sources: readonly Source[]): string[] =>
  sources.flatMap((source) =>
    source.nodes.flatMap(([node, above]) => {
      const words = wordsOf(node).trim()
      return hasWords(words) && !sameEverywhere.has(words) && (isShown(node, above) || isInTable(node, above, words))
        ? [where(source, node)]
        : []
    }),
  )

type Elements = ReturnType<IntlMessageFormat['getAst']>

/** The values, tags and choices of a message: what a translation has to have as well. */
export function placesIn(message: string): string[] {
  const found = new Set<string>()
  const collect = (elements: Elements): void => {
    for (const element of elements) {
      if ('value' in element && element.type !== 0)
        found.add(`${element.type === 8 ? 'tag' : 'value'} ${element.value}`)
      if ('children' in element) collect(element.children)
      if ('options' in element) for (const { value } of Object.values(element.options)) collect(value)
    }
  }
  collect(new IntlMessageFormat(message, 'en').getAst())
  return [...found].toSorted()
}

/** By the name of an error for people, which of its arguments is its sentence. */
const errorsForPeople: Readonly<Record<string, number>> = { TarelineError: 1, FieldError: 2 }

/** Whether a node is a text that stands there as it is said, or chooses between such texts. */
function isFixedText(node: unknown): boolean {
  if (!isNode(node)) return false
  if (node.type === 'ConditionalExpression') return isFixedText(node['consequent']) || isFixedText(node['alternate'])
  if (node.type === 'LogicalExpression' || node.type === 'BinaryExpression')
    return isFixedText(node['left']) || isFixedText(node['right'])
  return node.type === 'TemplateLiteral' || literal(node) !== undefined
}

/** The errors for people whose sentence stands past the catalogues. */
export const errorsOutside = (sources: readonly Source[]): string[] =>
  sources.flatMap((source) =>
    source.nodes.flatMap(([node]) => {
      const place = node.type === 'NewExpression' ? errorsForPeople[nameOf(node['callee'])] : undefined
      return place !== undefined && isFixedText((node['arguments'] as readonly Node[])[place])
        ? [where(source, node)]
        : []
    }),
  )
