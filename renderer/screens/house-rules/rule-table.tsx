import type { RuleRow } from '#core/api/contract.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { RuleField, type TypedRule } from './rule-field.tsx'
import type { RuleSection } from './rule-sections.ts'
import { ruleWriter } from './rule-value.ts'

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
