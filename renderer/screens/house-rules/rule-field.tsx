import { Button, NativeSelect, TextInput } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { useQuery } from '@tanstack/react-query'
import { type SubmitEvent, useState } from 'react'
import type { RuleEffect, RuleRow } from '#core/contracts/scales.ts'
import { trustStates } from '#core/findings/finding.ts'
import { measuredRule } from '#core/words/house-rules.ts'
import { parseTypedNumber } from '#core/words/measures.ts'
import { api, client } from '#renderer/client/api.ts'
import { type Measures, type Quantity, count, useMeasures } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { findingTitle } from '#renderer/parts/record-text.ts'
import { isConflict, useSaving } from '#renderer/parts/save-form.tsx'

/** Long enough for the next keystroke. */
const restMs = 400

const groupsText = (groups: number) => `${count(groups)} ${groups === 1 ? 'group' : 'groups'}`

/** Groups by the trust they would come to, the worst first. */
function sentences({ groups, moves }: RuleEffect): string[] {
  if (groups === 0) return ['No group is sensed yet, so none is judged.']
  if (moves.length === 0) return [`No trust would change: ${groupsText(groups)} stay as they are.`]
  return trustStates.flatMap((to) => {
    const own = moves.filter((move) => move.to === to)
    const sum = own.reduce((total, move) => total + move.groups, 0)
    return sum === 0
      ? []
      : [
          `${groupsText(sum)} would become ${to} (${own.map(({ from, groups: some }) => `${count(some)} from ${from}`).join(', ')}).`,
        ]
  })
}

/** What the value that is being typed would do to the fleet, before it is saved. */
export function RuleEffectNote({ rule, value }: { rule: RuleRow; value: number }) {
  const [asked] = useDebouncedValue(value, restMs)
  const effect = useQuery(
    api.houseRules.tryOut.queryOptions({ input: { name: rule.name, value: asked }, enabled: !rule.shownOnly }),
  )
  if (rule.shownOnly)
    return (
      <p className="rule-effect quiet">
        Only what the screens show and read changes; the record and every judgement stay.
      </p>
    )
  if (effect.isError)
    return (
      <p className="rule-effect" role="alert">
        What it would do could not be judged: {problemText(effect.error)}
      </p>
    )
  if (!effect.data || asked !== value) return <output className="rule-effect quiet">Judging what it would do…</output>
  return (
    <output className="rule-effect">
      {sentences(effect.data).map((sentence) => (
        <span key={sentence}>{sentence} </span>
      ))}
      {effect.data.findings.length > 0 && (
        <span className="quiet">
          Findings:{' '}
          {effect.data.findings
            .map(({ code, before, after }) => `${findingTitle(code).toLowerCase()} ${count(before)} → ${count(after)}`)
            .join(', ')}
          .
        </span>
      )}
    </output>
  )
}

const digits = new Intl.NumberFormat('en-US', { maximumFractionDigits: 6 })

type Read = { readonly ok: true; readonly value: number } | { readonly ok: false; readonly message: string }

/** How a rule's value is written and read: in the measures in use, or as the words of its choices. */
export interface RuleWriter {
  readonly unit: string
  /** As it stands in its field. */
  write(value: number): string
  withUnit(value: number): string
  readonly accepted: string
  /** Reads what was typed: a number in the rule's range, with or without commas between thousands. */
  read(typed: string): Read
}

function inMeasures(rule: RuleRow, behind: string, quantity: Quantity): RuleWriter {
  const unit = `${quantity.symbol}${behind}`
  const range = { min: rule.min, max: rule.max, unit }
  const write = (value: number) => digits.format(Number(quantity.typed(value)))
  return {
    unit,
    write,
    withUnit: (value) => `${write(value)}\u00a0${unit}`,
    accepted: quantity.accepted(range),
    read: (typed) => {
      const read = quantity.read(typed, range)
      return read.ok ? read : { ok: false, message: read.problem.message }
    },
  }
}

function plain(rule: RuleRow): RuleWriter {
  const { unit, min, max, choices } = rule
  const write = (value: number) => choices?.[value] ?? digits.format(value)
  const withUnit = (value: number) => `${write(value)}${unit && `\u00a0${unit}`}`
  const accepted = choices ? choices.join('; ') : `${write(min)} to ${withUnit(max)}`
  const refuse = (what: string): Read => ({ ok: false, message: `${what}; ${accepted} is accepted.` })
  return {
    unit,
    write,
    withUnit,
    accepted,
    read: (typed) => {
      if (typed.trim() === '') return refuse('The value is empty')
      const chosen = choices?.indexOf(typed) ?? -1
      const value = chosen >= 0 ? chosen : parseTypedNumber(typed)
      if (value === undefined) return refuse(`“${typed.trim()}” is not a number`)
      return value < min || value > max ? refuse(`${withUnit(value)} is out of range`) : { ok: true, value }
    },
  }
}

export function ruleWriter(rule: RuleRow, measures: Measures): RuleWriter {
  const measured = measuredRule(rule.unit)
  return measured ? inMeasures(rule, measured.behind, measures[measured.kind]) : plain(rule)
}

/** A value that is typed and not yet saved, with the one that stood there when typing began. */
export interface TypedRule {
  readonly was: number
  readonly text: string
}

interface RuleFieldProps {
  readonly rule: RuleRow
  readonly typed: TypedRule | null
  readonly onType: (typed: TypedRule | null) => void
  readonly onSaved: (said: string) => void
}

/** Another window saved another value meanwhile: one of the two has to be kept. */
function Meanwhile({
  rule,
  writer,
  typed,
  onKeep,
  onTake,
}: {
  rule: RuleRow
  writer: RuleWriter
  typed: TypedRule
  onKeep: () => void
  onTake: () => void
}) {
  return (
    <p className="rule-effect" role="alert">
      It was {writer.withUnit(typed.was)} when you began and is {writer.withUnit(rule.value)} by now; you typed{' '}
      {typed.text}.{' '}
      <button type="button" className="link" onClick={onKeep}>
        Keep {typed.text}
      </button>{' '}
      <button type="button" className="link" onClick={onTake}>
        Keep {writer.write(rule.value)}
      </button>
    </p>
  )
}

/** The value of one rule, to be changed in place: Enter saves, Esc takes the stored value back. */
export function RuleField({ rule, typed, onType, onSaved }: RuleFieldProps) {
  const writer = ruleWriter(rule, useMeasures())
  const [refused, setRefused] = useState<string | null>(null)
  const { name, label, value, default: usual, choices } = rule
  const change = useSaving(
    ({ was, next }: { was: number; next: number }, by) => client.houseRules.change({ name, was, value: next, by }),
    (_, { next }) => {
      onType(null)
      setRefused(null)
      onSaved(`Saved. ${label}: ${writer.withUnit(next)}.`)
    },
    // A conflict shows itself once the newer value is there.
    (error) => {
      if (!isConflict(error)) setRefused(problemText(error))
    },
  )
  const read = typed === null ? null : writer.read(typed.text)
  const submit = (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    if (typed === null || read === null) return
    setRefused(read.ok ? null : read.message)
    if (read.ok && read.value === value) onType(null)
    else if (read.ok) void change.send({ was: typed.was, next: read.value })
  }
  const takeBack = () => {
    onType(null)
    setRefused(null)
  }
  const type = (text: string) => onType({ was: typed?.was ?? value, text })
  const ariaLabel = `${label}${writer.unit && `, ${writer.unit}`}`
  const overtaken = typed !== null && typed.was !== value && !change.isPending
  return (
    <form className="rule-field" onSubmit={submit} noValidate>
      {choices ? (
        <NativeSelect
          aria-label={ariaLabel}
          data={[...choices]}
          value={typed?.text ?? writer.write(value)}
          disabled={change.isPending}
          onChange={(event) => type(event.currentTarget.value)}
          onKeyDown={(event) => {
            if (event.key === 'Escape') takeBack()
          }}
        />
      ) : (
        <TextInput
          aria-label={ariaLabel}
          inputMode="decimal"
          value={typed?.text ?? writer.write(value)}
          error={refused}
          errorProps={{ role: 'alert' }}
          disabled={change.isPending}
          autoComplete="off"
          onChange={(event) => type(event.currentTarget.value)}
          onKeyDown={(event) => {
            if (event.key === 'Escape') takeBack()
          }}
        />
      )}
      <span className="rule-unit">{writer.unit}</span>
      <span className="rule-actions">
        {typed !== null || change.isPending ? (
          <>
            <Button type="submit" loading={change.isPending}>
              Save
            </Button>
            <button type="button" className="link" onClick={takeBack}>
              Undo
            </button>
          </>
        ) : (
          value !== usual && (
            <button type="button" className="link" onClick={() => void change.send({ was: value, next: usual })}>
              Back to default<span className="unheard">: {label}</span>
            </button>
          )
        )}
      </span>
      {overtaken && (
        <Meanwhile
          rule={rule}
          writer={writer}
          typed={typed}
          onKeep={() => onType({ was: value, text: typed.text })}
          onTake={takeBack}
        />
      )}
      {read?.ok === true && read.value !== value && !overtaken && !change.isPending && (
        <RuleEffectNote rule={rule} value={read.value} />
      )}
    </form>
  )
}
