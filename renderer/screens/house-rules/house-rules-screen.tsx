import { Button, Checkbox, TextInput } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { RuleRow } from '#core/contracts/scales.ts'
import { api } from '#renderer/client/api.ts'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { useDraft } from '#renderer/parts/draft.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { DraftNote, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import '#renderer/parts/sheet-table.css'
import { ScreenTitle } from '#renderer/parts/ticket-link.tsx'
import './house-rules-screen.css'
import { RuleField, type TypedRule, ruleWriter } from './rule-field.tsx'
import { type RuleSection, findRules, rulesBySection } from './rule-sections.ts'
import { ZoneRule } from './zone-rule.tsx'

interface RuleTableProps {
  readonly sections: readonly RuleSection[]
  /** What is typed and not yet saved, by rule. */
  readonly typed: Readonly<Record<string, TypedRule>>
  readonly onType: (name: string, typed: TypedRule | null) => void
  readonly onSaved: (said: string) => void
}

function Row({ rule, typed, onType, onSaved }: { rule: RuleRow } & RuleTableProps) {
  const writer = ruleWriter(rule, useMeasures())
  return (
    <tr data-own={rule.value !== rule.default || undefined}>
      <th scope="row">
        {rule.label}
        {rule.value !== rule.default && <span className="rule-own">changed</span>}
      </th>
      <td>
        <RuleField
          rule={rule}
          typed={typed[rule.name] ?? null}
          onType={(next) => onType(rule.name, next)}
          onSaved={onSaved}
        />
      </td>
      <td className="figure">{writer.write(rule.default)}</td>
      <td className={rule.choices ? undefined : 'nowrap'}>{writer.accepted}</td>
      <td className="rule-source">{rule.source}</td>
    </tr>
  )
}

/** The rules under their headings, one a row; those that differ from their default say so. */
export function RuleTable(props: RuleTableProps) {
  return (
    <table className="sheet-table rule-table">
      <caption className="unheard">House Rules</caption>
      <thead>
        <tr>
          <th scope="col">Rule</th>
          <th scope="col">Value</th>
          <th scope="col" className="figure">
            Default
          </th>
          <th scope="col">Accepted</th>
          <th scope="col">Where the default comes from</th>
        </tr>
      </thead>
      {props.sections.map(({ title, rules }) => (
        <tbody key={title}>
          <tr className="rule-section">
            <th scope="rowgroup" colSpan={5}>
              {title}
            </th>
          </tr>
          {rules.map((rule) => (
            <Row key={rule.name} rule={rule} {...props} />
          ))}
        </tbody>
      ))}
    </table>
  )
}

function Rules({ rules }: { rules: readonly RuleRow[] }) {
  const { params } = useAddress()
  const [saved, setSaved] = useState('')
  const ownOnly = params.get('own') === 'yes'
  const own = rules.filter(({ value, default: usual }) => value !== usual)
  const draft = useDraft<Readonly<Record<string, TypedRule>>>('house rules', {})
  const type = (name: string, typed: TypedRule | null) => {
    const { [name]: _, ...others } = draft.value
    const next = typed === null ? others : { ...others, [name]: typed }
    if (Object.keys(next).length === 0) draft.clear()
    else draft.set(next)
  }
  const sections = rulesBySection(findRules(ownOnly ? own : rules, params.get('text') ?? ''))
  return (
    <>
      <ZoneRule onSaved={setSaved} />
      <div className="rules-tools">
        <TextInput
          type="search"
          label="Find a rule"
          value={params.get('text') ?? ''}
          onChange={(event) => changeParams({ text: event.currentTarget.value }, { replace: true })}
          onKeyDown={(event) => {
            if (event.key === 'Escape') changeParams({ text: null }, { replace: true })
          }}
        />
        <Checkbox
          size="xs"
          label={`Changed rules only (${count(own.length)})`}
          checked={ownOnly}
          onChange={(event) => changeParams({ own: event.currentTarget.checked ? 'yes' : null })}
        />
        <output className="rules-saved">{saved}</output>
      </div>
      <DraftNote draft={draft} />
      {sections.length === 0 ? (
        <div className="rules-none">
          <p>{ownOnly && own.length === 0 ? 'Every rule stands at its default.' : 'No rule matches.'}</p>
          <Button variant="default" onClick={() => changeParams({ text: null, own: null })}>
            Show every rule
          </Button>
        </div>
      ) : (
        <div className="rules-frame">
          <RuleTable sections={sections} typed={draft.value} onType={type} onSaved={setSaved} />
        </div>
      )}
    </>
  )
}

/** The limits, tolerances and intervals that the fleet sets for itself, each with where its default comes from. */
export function HouseRulesScreen() {
  const list = useQuery(api.houseRules.list.queryOptions())
  return (
    <div className="rules">
      <title>House Rules · Tareline</title>
      <ScreenTitle>House Rules</ScreenTitle>
      <p className="rules-words">
        What this fleet tolerates and expects. A change judges every line anew, and the change log keeps it with your
        name. While you type, the fleet is judged as if the value were saved. Enter saves a value, Esc takes it back.
      </p>
      {list.isPending && <output>Reading the rules…</output>}
      {list.isError && (
        <ProblemNotice title="The House Rules could not be read" error={list.error}>
          <Button variant="default" onClick={() => list.refetch()}>
            Try again
          </Button>
        </ProblemNotice>
      )}
      {list.data && <Rules rules={list.data} />}
    </div>
  )
}
