import { Button, Checkbox, NativeSelect, TextInput } from '@mantine/core'
import type { RosterRow } from '#core/contracts/unit.ts'
import { type Trust, findingCodes, trustStates } from '#core/findings/finding.ts'
import { unitKinds } from '#core/words/vocabulary.ts'
import { changeParams } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { TrustShape } from '#renderer/parts/marks.tsx'
import { findingTitle, sentenceCase, trustMeanings } from '#renderer/parts/record-text.ts'
import { type RosterView, isFiltered, noFilter } from './roster-view.ts'
import './trust-strip.css'

interface FieldProps {
  label: string
  name: string
  all: string
  value: string | null
  options: readonly { value: string; label: string }[]
}

const Choice = ({ label, name, all, value, options }: FieldProps) => (
  <NativeSelect
    aria-label={label}
    value={value ?? ''}
    data={[{ value: '', label: all }, ...options]}
    onChange={(event) => changeParams({ [name]: event.currentTarget.value })}
  />
)

/** Search and filters; each change is a new address, so Back undoes it. */
export function RosterFilters({ view, rows }: { view: RosterView; rows: readonly RosterRow[] }) {
  const yards = [...new Set(rows.flatMap(({ yard }) => (yard === null ? [] : [yard])))].sort()
  const present = new Set(rows.flatMap(({ findingCodes: codes }) => codes))
  return (
    <search className="roster-filters">
      <TextInput
        className="roster-search"
        aria-label="Search units"
        placeholder="Search number, make, model, yard"
        type="search"
        value={view.text}
        onChange={(event) => changeParams({ text: event.currentTarget.value }, { replace: true })}
        onKeyDown={(event) => {
          if (event.key === 'Escape') changeParams({ text: null }, { replace: true })
          if (event.key === 'ArrowDown') {
            event.preventDefault()
            document.querySelector<HTMLElement>('[role="grid"]')?.focus()
          }
        }}
      />
      <Choice
        label="Kind"
        name="kind"
        all="Every kind"
        value={view.kind}
        options={unitKinds.map((kind) => ({ value: kind, label: sentenceCase(`${kind}s`) }))}
      />
      <Choice
        label="Yard"
        name="yard"
        all="Every yard"
        value={view.yard}
        options={yards.map((yard) => ({ value: yard, label: yard }))}
      />
      <Choice
        label="Finding"
        name="finding"
        all="With or without findings"
        value={view.finding}
        options={findingCodes
          .filter((code) => present.has(code) || code === view.finding)
          .map((code) => ({ value: code, label: findingTitle(code) }))}
      />
      {rows.some(({ retired }) => retired) && (
        <Checkbox
          size="xs"
          label="Retired too"
          checked={view.retired}
          onChange={(event) => changeParams({ retired: event.currentTarget.checked ? 'yes' : null })}
        />
      )}
      {isFiltered(view) && (
        <Button variant="default" onClick={() => changeParams(noFilter)}>
          Clear filters
        </Button>
      )}
    </search>
  )
}

interface TrustStripProps {
  counts: Readonly<Record<Trust, number>>
  notSensed: number
  chosen: ReadonlySet<Trust>
  onChange: (chosen: ReadonlySet<Trust>) => void
}

/** How many units stand in each trust state, worst first; each count is a switch that filters the list. */
export function TrustStrip({ counts, notSensed, chosen, onChange }: TrustStripProps) {
  const total = trustStates.reduce((sum, trust) => sum + counts[trust], 0) + notSensed
  const toggle = (trust: Trust) => {
    const next = new Set(chosen)
    if (!next.delete(trust)) next.add(trust)
    onChange(next)
  }
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset is for form fields, these are switches
    <div className="strip" role="group" aria-label="Units by trust">
      {trustStates.map((trust) => (
        <button
          key={trust}
          type="button"
          className="strip-state"
          data-trust={trust}
          aria-pressed={chosen.has(trust)}
          title={trustMeanings[trust]}
          onClick={() => toggle(trust)}
        >
          <span className="strip-word">
            <TrustShape trust={trust} />
            {trust}
          </span>
          <span className="strip-count">{count(counts[trust])}</span>
          <svg className="strip-share" width="100%" height="3" aria-hidden="true">
            <rect width={`${total === 0 ? 0 : (100 * counts[trust]) / total}%`} height="3" />
          </svg>
        </button>
      ))}
      <div className="strip-total">
        <span className="strip-word">units</span>
        <span className="strip-count">{count(total)}</span>
        {notSensed > 0 && <span className="quiet">{count(notSensed)} not sensed</span>}
      </div>
    </div>
  )
}
