import { Button, NativeSelect, TextInput } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { useQuery } from '@tanstack/react-query'
import type { KeyboardEvent } from 'react'
import type { RuleEffect, RuleRow } from '#core/contracts/scales.ts'
import { trustStates } from '#core/findings/finding.ts'
import { measuredRule } from '#core/words/house-rules.ts'
import { api, client } from '#renderer/client/api.ts'
import { type Measures, type Quantity, count, useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { findingTitle } from '#core/findings/finding-title.ts'
import { type Problems, useSaveForm } from '#renderer/parts/save-form.tsx'
import { word, wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { figures, grouped, readNumber, sayEither } from '#core/words/numbers.ts'

/** Long enough for the next keystroke. */
const restMs = 400

const groupsText = (groups: number) => `${count(groups)} ${groups === 1 ? 'group' : 'groups'}`

/** Groups by the trust they would come to, the worst first. */
function sentences({ groups, moves }: RuleEffect): string[] {
  if (groups === 0) return [phrase('No group is sensed yet, so none is judged.')]
  if (moves.length === 0)
    return [phrase('No trust would change: {groups} stay as they are.', { groups: groupsText(groups) })]
  return trustStates.flatMap((to) => {
    const own = moves.filter((move) => move.to === to)
    const sum = own.reduce((total, move) => total + move.groups, 0)
    const sources = own.map(({ from, groups: some }) =>
      phrase('{some} from {from}', { some: count(some), from: word(from) }),
    )
    return sum === 0
      ? []
      : [
          phrase('{sum} would become {to} ({sources}).', {
            sum: groupsText(sum),
            to: word(to),
            sources: sources.join(', '),
          }),
        ]
  })
}

/** What the value that is being typed would do to the fleet, before it is saved. */
function RuleEffectNote({ rule, value }: { rule: RuleRow; value: number }) {
  const [asked] = useDebouncedValue(value, restMs)
  const effect = useQuery(
    api.houseRules.tryOut.queryOptions({ input: { name: rule.name, value: asked }, enabled: !rule.shownOnly }),
  )
  if (rule.shownOnly)
    return (
      <p className="rule-effect quiet">
        {phrase('Only what the screens show and read changes; the record and every judgment stay.')}
      </p>
    )
  if (effect.isError)
    return (
      <p className="rule-effect" role="alert">
        {phrase('What it would do could not be judged: {error}', { error: problemText(effect.error) })}
      </p>
    )
  if (!effect.data || asked !== value)
    return <output className="rule-effect quiet">{phrase('Judging what it would do…')}</output>
  return (
    <output className="rule-effect">
      {sentences(effect.data).map((sentence) => (
        <span key={sentence}>{sentence} </span>
      ))}
      {effect.data.findings.length > 0 && (
        <span className="quiet">
          {phrase('Findings: {findings}.', {
            findings: effect.data.findings
              .map(
                ({ code, before, after }) => `${findingTitle(code).toLowerCase()} ${count(before)} → ${count(after)}`,
              )
              .join(', '),
          })}
        </span>
      )}
    </output>
  )
}

const digits = figures({ maximumFractionDigits: 6 })

type Read = { readonly ok: true; readonly value: number } | { readonly ok: false; readonly message: string }

/** How a rule's value is written and read: in the measures in use, or as the words of its choices. */
interface RuleWriter {
  readonly unit: string
  /** As it stands in its field. */
  write(value: number): string
  withUnit(value: number): string
  readonly accepted: string
  /** Reads what was typed: a number in the rule's range, with or without commas between thousands. */
  read(typed: string): Read
}

function inMeasures(rule: RuleRow, behind: string, quantity: Quantity): RuleWriter {
  const unit = `${quantity.symbol}${wordOf(behind)}`
  const range = { min: rule.min, max: rule.max, unit }
  const write = (value: number) => grouped(quantity.typed(value))
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
  const { min, max } = rule
  const unit = wordOf(rule.unit)
  const choices = rule.choices?.map(wordOf)
  const write = (value: number) => choices?.[value] ?? digits(value)
  const withUnit = (value: number) => `${write(value)}${unit && `\u00a0${unit}`}`
  const accepted = choices ? choices.join('; ') : phrase('{min} to {max}', { min: write(min), max: withUnit(max) })
  const refuse = (what: string): Read => ({
    ok: false,
    message: phrase('{what}; {accepted} is accepted.', { what, accepted }),
  })
  return {
    unit,
    write,
    withUnit,
    accepted,
    read: (typed) => {
      if (typed.trim() === '') return refuse(phrase('The value is empty'))
      const chosen = choices?.indexOf(typed) ?? -1
      const value = chosen >= 0 ? chosen : readNumber(typed)
      if (typeof value === 'object') return refuse(sayEither(typed, value))
      if (value === undefined) return refuse(phrase('“{typed}” is not a number', { typed: typed.trim() }))
      return value < min || value > max
        ? refuse(phrase('{value} is out of range', { value: withUnit(value) }))
        : { ok: true, value }
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

/** The value of one rule, to be changed in place: Enter saves, Esc takes the stored value back. */
export function RuleField({ rule, typed, onType, onSaved }: RuleFieldProps) {
  const writer = ruleWriter(rule, useMeasures())
  const { name, label, value, default: usual } = rule
  const choices = rule.choices?.map(wordOf)
  const stored = writer.write(value)
  /** What a text stands for: the stored value and the default to their last digit, whatever of them a field shows. */
  const read = (text: string): Read => {
    const known = [value, usual].find((each) => writer.write(each) === text)
    return known === undefined ? writer.read(text) : { ok: true, value: known }
  }
  const meantBy = (text: string) => {
    const known = read(text)
    return known.ok ? known.value : value
  }
  const form = useSaveForm({
    start: { value: stored },
    draft: {
      value: { value: typed?.text ?? stored },
      typed: typed !== null,
      restored: false,
      set: ({ value: text }) => onType({ was: typed?.was ?? value, text }),
      clear: () => onType(null),
    },
    check: ({ value: text }): Problems => {
      const known = read(text)
      return known.ok ? {} : { value: known.message }
    },
    save: ({ value: text }, by) =>
      client.houseRules.change({ name, was: typed?.was ?? value, value: meantBy(text), by }),
    onSaved: (_, { value: text }) => {
      onType(null)
      onSaved(phrase('Saved. {label}: {text}.', { label, text: writer.withUnit(meantBy(text)) }))
    },
  })
  const next = typed === null ? null : read(typed.text)
  const isSame = next?.ok === true && next.value === value
  // A conflict shows itself once the newer value is there.
  const overtaken = typed !== null && typed.was !== value && !form.isPending
  const field = {
    ...form.field('value'),
    'aria-label': `${label}${writer.unit && `, ${writer.unit}`}`,
    errorProps: { role: 'alert' },
    disabled: form.isPending,
    onKeyDown: ({ key }: KeyboardEvent) => {
      if (key === 'Escape') form.clear()
    },
  }
  return (
    <form
      ref={form.element}
      className="rule-field"
      noValidate
      onSubmit={(event) => {
        event.preventDefault()
        if (isSame) form.clear()
        else form.submit(event)
      }}
    >
      {choices ? (
        <NativeSelect {...field} data={choices} />
      ) : (
        <TextInput {...field} inputMode="decimal" autoComplete="off" />
      )}
      <span className="rule-unit">{writer.unit}</span>
      <span className="rule-actions">
        {typed !== null || form.isPending ? (
          <>
            <Button variant="filled" type="submit" loading={form.isPending}>
              {phrase('Save')}
            </Button>
            <LinkButton onClick={form.clear}>{phrase('Undo')}</LinkButton>
          </>
        ) : (
          value !== usual && (
            <LinkButton
              about={phrase('the rule {label}', { label })}
              onClick={() => {
                form.type('value', writer.write(usual))
                form.submit()
              }}
            >
              {phrase('Back to default')}
            </LinkButton>
          )
        )}
      </span>
      {form.failure && (
        <p className="rule-effect" role="alert">
          {problemText(form.failure)}
        </p>
      )}
      {overtaken && (
        <p className="rule-effect" role="alert">
          <Phrase
            text="It was {was} when you began and is {value} by now; you typed {text}. <button>Keep {text}</button> <button2>Keep {stored}</button2>"
            with={{
              was: writer.withUnit(typed.was),
              value: writer.withUnit(value),
              text: typed.text,
              button: (words) => (
                <LinkButton onClick={() => onType({ was: value, text: typed.text })}>{words}</LinkButton>
              ),
              button2: (words) => <LinkButton onClick={form.clear}>{words}</LinkButton>,
              stored,
            }}
          />
        </p>
      )}
      {next?.ok === true && !isSame && !overtaken && !form.isPending && (
        <RuleEffectNote rule={rule} value={next.value} />
      )}
    </form>
  )
}
