import { Button, Checkbox, NativeSelect, TextInput } from '@mantine/core'
import type { RosterRow } from '#core/api/contract.ts'
import { findingCodes } from '#core/findings/finding.ts'
import { unitKinds } from '#core/fleet/vocabulary.ts'
import { changeParams } from '#renderer/parts/address.ts'
import { findingTitle, sentenceCase } from '#renderer/parts/words.ts'
import { isFiltered, noFilter, type RosterView } from './roster-view.ts'

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
