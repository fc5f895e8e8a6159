import type { ComponentProps } from 'react'
import { RuleField } from './rule-field.tsx'
import type { RuleSection } from './rule-sections.ts'
import { acceptedText, writeValue } from './rule-value.ts'

type FieldProps = Omit<ComponentProps<typeof RuleField>, 'rule'>

/** The rules under their headings, one a row; those that differ from their default say so. */
export function RuleTable({ sections, ...field }: { sections: readonly RuleSection[] } & FieldProps) {
  return (
    <table className="sheet-table rule-table">
      <caption className="unheard">House Rules</caption>
      <thead>
        <tr><th scope="col">Rule</th><th scope="col">Value</th><th scope="col" className="figure">Default</th><th scope="col">Accepted</th><th scope="col">Where the default comes from</th></tr>
      </thead>
      {sections.map(({ title, rules }) => (
        <tbody key={title}>
          <tr className="rule-section"><th scope="rowgroup" colSpan={5}>{title}</th></tr>
          {rules.map((rule) => (
            <tr key={rule.name} data-own={rule.value !== rule.default || undefined}>
              <th scope="row">{rule.label}{rule.value !== rule.default && <span className="rule-own">changed</span>}</th>
              <td><RuleField rule={rule} {...field} /></td>
              <td className="figure">{writeValue(rule.default)}</td>
              <td className="nowrap">{acceptedText(rule)}</td>
              <td className="rule-source">{rule.source}</td>
            </tr>
          ))}
        </tbody>
      ))}
    </table>
  )
}
