import { TextInput } from '@mantine/core'
import { type KeyboardEvent, useEffect, useState } from 'react'
import { type Range, describeRange } from '#core/words/vocabulary.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { useSaving } from '#renderer/parts/save-form.tsx'
import { phrase } from '#core/words/phrase.ts'
import { readNumber, sayEither } from '#core/words/numbers.ts'

interface FigureCellProps {
  /** What the figure is, heard only. */
  readonly label: string
  /** As stored; null: nothing is. */
  readonly value: number | null
  readonly range: Range
  readonly whole?: boolean
  /** What holds while nothing is stored. */
  readonly placeholder: string
  readonly save: (typed: number | null, was: number | null, by: string) => Promise<unknown>
}

/** A figure in a table that is typed where it stands: Enter or leaving it saves, Esc takes it back. */
export function FigureCell({ label, value, range, whole = false, placeholder, save }: FigureCellProps) {
  const stored = value === null ? '' : String(value)
  const [typed, setTyped] = useState<string | null>(null)
  const [problem, setProblem] = useState<string | null>(null)
  // What is asked to be saved while a save is on its way waits for that one's end.
  const [waits, setWaits] = useState(false)
  const saving = useSaving(
    ({ figure }: { figure: number | null; text: string }, by) => save(figure, value, by),
    // What was typed since it was sent stays.
    (_, sent) => setTyped((now) => (now === sent.text ? null : now)),
  )
  const text = typed ?? stored
  const keep = () => {
    if (typed === null) return
    const read = typed.trim() === '' ? null : readNumber(typed)
    if (typeof read === 'object' && read !== null) {
      setProblem(sayEither(typed, read))
      return
    }
    const figure = read
    const fits =
      figure === null ||
      (figure !== undefined && figure >= range.min && figure <= range.max && (!whole || Number.isInteger(figure)))
    if (!fits) {
      setProblem(
        phrase('“{typed}” is not accepted; {whole} from {range} is.', {
          typed: typed.trim(),
          whole: whole ? phrase('a whole number') : phrase('a number'),
          range: describeRange(range),
        }),
      )
      return
    }
    setProblem(null)
    if (saving.isPending) setWaits(true)
    else if (figure === value) setTyped(null)
    else void saving.send({ figure: figure ?? null, text: typed })
  }
  useEffect(() => {
    if (!waits || saving.isPending) return
    setWaits(false)
    keep()
  })
  const onKey = ({ key }: KeyboardEvent) => {
    if (key === 'Enter') keep()
    if (key !== 'Escape') return
    setTyped(null)
    setProblem(null)
    saving.reset()
  }
  return (
    <TextInput
      className="shop-figure"
      aria-label={label}
      inputMode="decimal"
      autoComplete="off"
      placeholder={placeholder}
      value={text}
      error={problem ?? (saving.error && problemText(saving.error))}
      onChange={(event) => {
        setTyped(event.currentTarget.value)
        setProblem(null)
      }}
      onKeyDown={onKey}
      onBlur={keep}
    />
  )
}
