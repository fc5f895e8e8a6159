import { OutcomeMark } from '#renderer/parts/marks.tsx'
import { phrase } from '#core/words/phrase.ts'

/** Something that has waited too long. */
export const Overdue = ({ days, what }: { days: number | null; what: string }) =>
  days !== null && (
    <p role="alert">
      <OutcomeMark well={false} word={phrase('overdue')} />{' '}
      {phrase('{what} for {days, plural, one {# day} other {# days}}.', { what, days })}
    </p>
  )
