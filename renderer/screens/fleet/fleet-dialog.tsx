import { useState } from 'react'
import type { FirstSteps, FleetBasics, FleetRecord } from '#core/contracts/fleet.ts'
import { fieldsOf } from '#core/words/record-fields.ts'
import { go, hrefOf } from '#renderer/parts/address.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { stepAfter, stepTitle } from '#renderer/parts/first-weight.tsx'
import { RecordForm } from '#renderer/parts/record-form.tsx'
import type { Texts } from '#renderer/parts/save-form.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { NewUnitForm } from './new-unit-form.tsx'
import { SensorTable } from './sensor-table.tsx'
import { saveRecord } from './unit-forms.tsx'

/** The records that the screen lists. */
export type Listed = 'yard' | 'scale' | 'sensor'

/** Which form a step of the way to the first weight opens. */
const added = { yard: 'yard', scale: 'scale', lead: 'unit', trailer: 'unit' } as const
export type Add = keyof typeof added
export const adds = Object.keys(added) as Add[]
export type Open =
  | { readonly subject: 'unit'; readonly kind: 'tractor' | 'trailer' }
  | { readonly subject: 'sensors' }
  | { readonly subject: Listed; readonly record: FleetRecord | null }

export const nameColumn = { yard: 'name', scale: 'name', sensor: 'serial' } as const
const titles = { unit: phrase('Add a unit'), sensors: phrase('Mount sensors') } as const

/** The form of a step. */
export const openOf = (add: Add): Open =>
  added[add] === 'unit'
    ? { subject: 'unit', kind: add === 'lead' ? 'tractor' : 'trailer' }
    : { subject: added[add], record: null }

function titleOf(open: Open): string {
  if (!('record' in open)) return titles[open.subject]
  const { subject, record } = open
  return record === null
    ? phrase('Add a {subject}', { subject: word(subject) })
    : phrase('Edit {subject} {name}', { subject: word(subject), name: String(record.values[nameColumn[subject]]) })
}

interface FleetDialogProps {
  readonly open: Open | null
  /** The step of the way to the first weight that led here. */
  readonly add: Add | null
  readonly basics: FleetBasics
  readonly steps: FirstSteps
  readonly onClose: () => void
  readonly onSaid: (words: string) => void
}

/** The form that stands open over the Fleet; on the way to the first weight the next one opens by itself. */
export function FleetDialog({ open, add, basics, steps, onClose, onSaid }: FleetDialogProps) {
  /** What the sensors of the unit before were like. */
  const [like, setLike] = useState<Texts>({})
  const onWay = add !== null && !steps.line
  const goOn = () => {
    const next = onWay ? stepAfter(steps, add) : undefined
    onClose()
    if (next) go(next.href)
    return next !== undefined
  }
  const cancel = onWay ? { onCancel: goOn, cancelLabel: phrase('Skip') } : { onCancel: onClose }
  return (
    <Dialog
      key={add ?? 'form'}
      size={720}
      opened={open !== null}
      onClose={onClose}
      title={open === null ? '' : onWay ? stepTitle(steps, add) : titleOf(open)}
    >
      {open?.subject === 'unit' && (
        <NewUnitForm
          kind={open.kind}
          yards={basics.yards.map(({ id, values }) => ({ id, name: String(values['name']) }))}
          like={like}
          {...cancel}
          onSaved={(number, its) => {
            setLike(its)
            if (!goOn()) go(hrefOf('record', number))
          }}
        />
      )}
      {open?.subject === 'sensors' && (
        <SensorTable
          units={null}
          onCancel={onClose}
          onDone={(words) => {
            onClose()
            onSaid(words)
          }}
        />
      )}
      {open !== null && 'record' in open && (
        <RecordForm
          fields={fieldsOf(open.subject)}
          draftName={`${open.subject} ${open.record?.id ?? 'new'}`}
          start={open.record?.values ?? (open.subject === 'sensor' ? { reference: 'gauge' } : {})}
          isNew={open.record === null}
          saveLabel={open.record ? phrase('Save') : phrase('Add {subject}', { subject: word(open.subject) })}
          onSave={(saved) => saveRecord(open.subject, open.record?.id ?? null, saved)}
          {...cancel}
          onDone={() => {
            onSaid(phrase('Saved.'))
            goOn()
          }}
        />
      )}
    </Dialog>
  )
}
