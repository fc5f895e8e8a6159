import { Button, TextInput } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { type SubmitEvent, useState } from 'react'
import type { RuleRow } from '#core/api/contract.ts'
import { api } from '#renderer/client/api.ts'
import { personNow } from '#renderer/parts/person.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { readValue, writeValue } from './rule-value.ts'

interface RuleFieldProps {
  rule: RuleRow
  onSaved: (said: string) => void
}

const spoken = ({ label, unit }: RuleRow, value: number) => `${label}: ${writeValue(value)}${unit && ` ${unit}`}`

/** The value of one rule, to be changed in place: Enter saves, Esc takes the stored value back. */
export function RuleField({ rule, onSaved }: RuleFieldProps) {
  const client = useQueryClient()
  const [typed, setTyped] = useState<string | null>(null)
  const [refused, setRefused] = useState<string | null>(null)
  const { name, label, unit, value, default: usual } = rule
  const change = useMutation(api.houseRules.change.mutationOptions({
    onSuccess: (rules, input) => {
      client.setQueryData(api.houseRules.list.queryKey(), rules)
      setTyped(null)
      setRefused(null)
      onSaved(`Saved. ${spoken(rule, input.value)}.`)
      // Every line and finding was judged anew by the changed rule.
      return client.invalidateQueries()
    },
    onError: (error) => setRefused(problemText(error)),
  }))
  const save = async (next: number) => {
    const by = await personNow()
    if (by !== null) change.mutate({ name, was: value, value: next, by })
  }
  const submit = (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    if (typed === null) return
    const read = readValue(typed, rule)
    setRefused(read.ok ? null : read.message)
    if (read.ok && read.value === value) setTyped(null)
    else if (read.ok) void save(read.value)
  }
  const takeBack = () => {
    setTyped(null)
    setRefused(null)
  }
  return (
    <form className="rule-field" onSubmit={submit} noValidate>
      <TextInput
        aria-label={`${label}${unit && `, ${unit}`}`} inputMode="decimal" value={typed ?? writeValue(value)} error={refused} errorProps={{ role: 'alert' }} disabled={change.isPending} autoComplete="off"
        onChange={(event) => setTyped(event.currentTarget.value)} onKeyDown={(event) => { if (event.key === 'Escape') takeBack() }}
      />
      <span className="rule-unit">{unit}</span>
      <span className="rule-actions">
        {typed !== null || change.isPending
          ? <><Button type="submit" loading={change.isPending}>Save</Button><button type="button" className="link" onClick={takeBack}>Undo</button></>
          : value !== usual && <button type="button" className="link" onClick={() => void save(usual)}>Back to default<span className="unheard">: {label}</span></button>}
      </span>
    </form>
  )
}
