import { Button, NativeSelect, TextInput } from '@mantine/core'
import { isDefinedError } from '@orpc/client'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { type SubmitEvent, useState } from 'react'
import type { RuleRow } from '#core/api/contract.ts'
import { api } from '#renderer/client/api.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { RuleEffectNote } from './rule-effect.tsx'
import { type RuleWriter, ruleWriter } from './rule-value.ts'

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
  const client = useQueryClient()
  const writer = ruleWriter(rule, useMeasures())
  const [refused, setRefused] = useState<string | null>(null)
  const { name, label, value, default: usual, choices } = rule
  const change = useMutation(
    api.houseRules.change.mutationOptions({
      onSuccess: (rules, input) => {
        client.setQueryData(api.houseRules.list.queryKey(), rules)
        onType(null)
        setRefused(null)
        onSaved(`Saved. ${label}: ${writer.withUnit(input.value)}.`)
        // Every line and finding was judged anew by the changed rule.
        return client.invalidateQueries()
      },
      onError: (error) => {
        // The conflict shows itself once the newer value is there.
        if (isDefinedError(error) && error.code === 'CONFLICT')
          void client.invalidateQueries({ queryKey: api.houseRules.list.queryKey() })
        else setRefused(problemText(error))
      },
    }),
  )
  const save = async (was: number, next: number) => {
    const by = await personNow()
    if (by !== null) change.mutate({ name, was, value: next, by })
  }
  const read = typed === null ? null : writer.read(typed.text)
  const submit = (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    if (typed === null || read === null) return
    setRefused(read.ok ? null : read.message)
    if (read.ok && read.value === value) onType(null)
    else if (read.ok) void save(typed.was, read.value)
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
            <button type="button" className="link" onClick={() => void save(value, usual)}>
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
