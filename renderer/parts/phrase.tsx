import { Fragment, type ReactNode, createElement } from 'react'
import { type Values, phraseParts, speech } from '#core/words/phrase.ts'

/** A tag of a sentence: what becomes of the words in it. */
export type Tag = (words: ReactNode) => ReactNode

interface PhraseProps {
  readonly text: string
  readonly with: Readonly<Record<string, ReactNode | Tag>>
}

const tagged = (values: Values): Values =>
  Object.fromEntries(
    Object.entries(values).map(([name, value]) => [
      name,
      typeof value === 'function'
        ? (words: ReactNode[]) => (value as Tag)(createElement(Fragment, null, ...words))
        : value,
    ]),
  )

/** A sentence with parts that are more than text: `phrase` for what stands in a page. */
export const Phrase = ({ text, with: values }: PhraseProps): ReactNode =>
  createElement(Fragment, null, ...(phraseParts<object>(speech(), text, tagged(values)) as ReactNode[]))
