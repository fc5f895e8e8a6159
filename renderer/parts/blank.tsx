import type { ReactNode } from 'react'
import { unknownText } from '#renderer/parts/record-text.ts'
import { phrase } from '#core/words/phrase.ts'

/** What stands in a cell that has nothing in it, the same in every table: a dash for the eye, a word to be heard. */
export const Blank = () => (
  <span className="quiet">
    <span aria-hidden="true">{unknownText}</span>
    <span className="unheard">{phrase('empty')}</span>
  </span>
)

const isNothing = (content: ReactNode): boolean =>
  content === null || content === undefined || content === false || content === '' || content === unknownText

/** What a cell shows, or that it is empty. */
export const cellContent = (content: ReactNode): ReactNode => (isNothing(content) ? <Blank /> : content)
