import { Checkbox } from '@mantine/core'
import type { StoredValues } from '#core/fleet/change.ts'
import { usualGroups } from '#core/fleet/usual-groups.ts'
import { fieldsOf } from '#core/fleet/record-fields.ts'
import type { UnitKind } from '#core/fleet/vocabulary.ts'
import { readVin, tidyVin } from '#core/fleet/vin.ts'
import { type FormExtra, RecordForm } from '#renderer/parts/record-form.tsx'
import { saveRecord } from './save-record.ts'

/** What the VIN says about itself: a warning and a year to take over, never a refusal. */
function VinNote({ texts, setText }: FormExtra) {
  const {
    problem,
    modelYears: [year, ...others],
  } = readVin(texts['vin'] ?? '', new Date().getFullYear())
  if (problem !== null)
    return (
      <p className="record-note" role="status">
        <strong>VIN:</strong> {problem} It is kept as typed all the same.
      </p>
    )
  if (year === undefined || texts['model_year'] === String(year)) return null
  return (
    <p className="record-note" role="status">
      The VIN’s tenth character stands for model year {year}
      {others.length > 0 && ` (or ${others.join(', ')})`}.{' '}
      <button type="button" className="link" onClick={() => setText('model_year', String(year))}>
        Take {year}
      </button>
    </p>
  )
}

const usualText = (kind: string | undefined) =>
  (usualGroups[kind as UnitKind] ?? []).map(({ group }) => String(group['name'])).join(' and ')

interface UnitFormProps {
  /** null: a new unit. */
  readonly id: number | null
  readonly start: StoredValues
  readonly yards: readonly { readonly id: number; readonly name: string }[]
  readonly onSaved: (number: string) => void
  readonly onCancel: () => void
}

/** A unit's own facts; a new one starts with the axle groups of its kind. */
export function UnitForm({ id, start, yards, onSaved, onCancel }: UnitFormProps) {
  const isNew = id === null
  let number = String(start['number'] ?? '')
  return (
    <RecordForm
      fields={fieldsOf('unit')}
      draftName={isNew ? 'unit new' : `unit ${id}`}
      start={start}
      isNew={isNew}
      yards={yards}
      startTexts={isNew ? { $usual: 'yes' } : {}}
      saveLabel={isNew ? 'Add unit' : 'Save'}
      after={(extra) => (
        <>
          <VinNote {...extra} />
          {isNew && (
            <Checkbox
              size="xs"
              checked={extra.texts['$usual'] === 'yes'}
              onChange={(event) => extra.setText('$usual', event.currentTarget.checked ? 'yes' : 'no')}
              label={`Start with its usual axle groups${usualText(extra.texts['kind']) && `: ${usualText(extra.texts['kind'])}`}`}
            />
          )}
        </>
      )}
      onSave={async (record) => {
        const vin = record.values['vin']
        const values = typeof vin === 'string' ? { ...record.values, vin: tidyVin(vin) } : record.values
        number = String(values['number'] ?? number)
        await saveRecord('unit', id, { ...record, values }, { usualGroups: isNew && record.texts['$usual'] === 'yes' })
      }}
      onDone={() => onSaved(number)}
      onCancel={onCancel}
    />
  )
}
