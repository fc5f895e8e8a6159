import { createContext, use, useEffect } from 'react'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import './notice.css'

/** Where the desks of a house tell each other which forms they have open. */
export interface Together {
  /** Who else has which form open, by the name of its draft. */
  readonly present: readonly { readonly form: string; readonly by: string }[]
  /** Says that a form is open here; returns how to say that it is closed. */
  enter(form: string): () => void
}

const alone: Together = { present: [], enter: () => () => undefined }

/** The frame puts it there, where there are other desks. */
export const TogetherContext = createContext<Together>(alone)

/** Says on the form of a record that somebody else has it open; form: the name of its draft. */
export function OthersHere({ form }: { form: string }) {
  const { present, enter } = use(TogetherContext)
  useEffect(() => enter(form), [enter, form])
  const names = [...new Set(present.filter((each) => each.form === form).map(({ by }) => by))]
  return (
    <div role="status">
      {names.length > 0 && (
        <p className="others-here">
          <Phrase
            text="<strong>{names} {number, plural, one {has} other {have}} this form open too.</strong> Who saves a field first keeps it; the other is shown both values."
            with={{
              names: names.join(phrase(' and ')),
              number: names.length,
              strong: (words) => <strong>{words}</strong>,
            }}
          />
        </p>
      )}
    </div>
  )
}
