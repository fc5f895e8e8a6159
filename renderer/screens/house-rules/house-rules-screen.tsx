import { Button } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { RuleRow } from '#core/contracts/scales.ts'
import { api } from '#renderer/client/api.ts'
import { AddressCheck, AddressText } from '#renderer/parts/address-fields.tsx'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { useDraft } from '#renderer/parts/draft.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { DraftNote } from '#renderer/parts/problem-notice.tsx'
import { RightsNote } from '#renderer/parts/rights-note.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { OthersHere } from '#renderer/parts/others-here.tsx'
import { phrase } from '#core/words/phrase.ts'
import './house-rules-screen.css'
import { RuleField, type TypedRule, ruleWriter } from './rule-field.tsx'
import { findRules, rulesBySection } from './rule-sections.ts'
import { ZoneRule } from './zone-rule.tsx'

function Rules({ rules }: { rules: readonly RuleRow[] }) {
  const { params } = useAddress()
  const measures = useMeasures()
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
  const example = own[0] ?? rules[0]
  const writer = example && ruleWriter(example, measures)
  useHelpExample(
    writer
      ? phrase('{label}: {value} here, usually {usual}; accepted: {accepted}.', {
          label: example.label,
          value: writer.write(example.value),
          usual: writer.write(example.default),
          accepted: writer.accepted,
        })
      : null,
  )
  const sections = rulesBySection(findRules(ownOnly ? own : rules, params.get('text') ?? ''))
  return (
    <>
      <ZoneRule onSaved={setSaved} />
      <div className="flow rules-tools">
        <AddressText name="text" type="search" label={phrase('Find a rule')} />
        <AddressCheck name="own" label={phrase('Changed rules only ({own})', { own: count(own.length) })} />
        <output className="rules-saved">{saved}</output>
      </div>
      <OthersHere form="house rules" />
      <DraftNote draft={draft} />
      {sections.length === 0 ? (
        <div className="rules-none">
          <p>
            {ownOnly && own.length === 0 ? phrase('Every rule stands at its default.') : phrase('No rule matches.')}
          </p>
          <Button onClick={() => changeParams({ text: null, own: null })}>{phrase('Show every rule')}</Button>
        </div>
      ) : (
        <SheetTable
          className="rule-table"
          caption={phrase('House Rules')}
          rows={sections.flatMap(({ title, rules: all }) =>
            all.map((rule) => ({
              ...rule,
              title,
              writer: ruleWriter(rule, measures),
              own: rule.value !== rule.default,
            })),
          )}
          keyOf={({ name }) => name}
          under={({ title }) => title}
          mark={({ own: isOwn }) => ({ 'data-own': isOwn || undefined })}
          columns={[
            [
              phrase('Rule'),
              ({ label, own: isOwn }) => (
                <>
                  {label}
                  {isOwn && <span className="rule-own">{phrase('changed')}</span>}
                </>
              ),
            ],
            [
              phrase('Value'),
              (rule) => (
                <RuleField
                  rule={rule}
                  typed={draft.value[rule.name] ?? null}
                  onType={(next) => type(rule.name, next)}
                  onSaved={setSaved}
                />
              ),
            ],
            [phrase('Default'), ({ writer, default: usual }) => writer.write(usual), 'figure'],
            [
              phrase('Accepted'),
              ({ writer, choices }) => <span className={choices ? undefined : 'nowrap'}>{writer.accepted}</span>,
            ],
            [phrase('Where the default comes from'), ({ source }) => <span className="rule-source">{source}</span>],
          ]}
        />
      )}
    </>
  )
}

/** The limits, tolerances and intervals that the fleet sets for itself, each with where its default comes from. */
export function HouseRulesScreen() {
  const list = useQuery(api.houseRules.list.queryOptions())
  return (
    <div className="page">
      <ScreenTitle>{phrase('House Rules')}</ScreenTitle>
      <p className="rules-words">
        {phrase(
          'What this fleet tolerates and expects. A change judges every line again, and the change log keeps it with your name. While you type, the fleet is judged as if the value were saved. Enter saves a value, Esc takes it back.',
        )}
      </p>
      <RightsNote about={phrase('To look at only')} to="houseRules.change" />
      <Answer to={list} waiting={phrase('Reading the rules…')} failed={phrase('The House Rules could not be read')}>
        {(rules) => <Rules rules={rules} />}
      </Answer>
    </div>
  )
}
