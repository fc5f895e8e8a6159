import { wordOf } from '#core/words/listed-words.ts'
import { NativeSelect, TextInput, Textarea } from '@mantine/core'
import type { ReactNode } from 'react'
import type { FieldConflictView } from '#core/contracts/base.ts'
import type { StoredValues } from '#core/words/change.ts'
import type { RecordField, RecordFields } from '#core/words/record-fields.ts'
import { useDraft } from '#renderer/parts/draft.ts'
import { type Measures, useMeasures } from '#renderer/parts/format.ts'
import { ConflictNotice } from '#renderer/parts/problem-notice.tsx'
import { fieldText, fieldUnit, readFields, shownText } from '#renderer/parts/record-text.ts'
import { OthersHere } from '#renderer/parts/others-here.tsx'
import { type Problems, SaveForm, type Texts, useSaveForm } from '#renderer/parts/save-form.tsx'
import { TimeField } from '#renderer/parts/time-field.tsx'
import type { Times } from '#renderer/parts/times.ts'
import { phrase } from '#core/words/phrase.ts'

/** What a form holds while it is typed: what the person saw of the record, and the text of every field. */
interface TypedRecord {
  readonly was: StoredValues
  readonly texts: Texts
}

/**
 * What a form saves: values that differ from what the person saw, and texts of fields that are no columns of the
 * record.
 */
export interface RecordToSave {
  readonly was: StoredValues
  readonly values: StoredValues
  readonly texts: Texts
  readonly by: string
  readonly times: Times
}

/** What stands below the fields of a form, and depends on what is typed in them. */
export interface FormExtra {
  readonly was: StoredValues
  /** Of the fields that can be read. */
  readonly values: StoredValues
  readonly texts: Texts
  readonly problems: Problems
  readonly times: Times
  setText(name: string, text: string): void
  /** What an input needs that stands beside the record's own. */
  readonly field: ReturnType<typeof useSaveForm<Texts, unknown>>['field']
}

interface RecordFormProps {
  readonly fields: RecordFields
  /** Tells this form and its record apart from all others. */
  readonly draftName: string
  /** The record as stored; what a new one starts with. */
  readonly start: StoredValues
  readonly isNew: boolean
  /** Columns that this form leaves out. */
  readonly without?: readonly string[]
  readonly yards?: readonly { readonly id: number; readonly name: string }[]
  /** Texts of further fields before anything is typed. */
  readonly startTexts?: Texts
  /** Texts that stand typed already, of any fields. */
  readonly offered?: Texts
  /** Sentences for further fields. */
  readonly check?: (typed: Pick<FormExtra, 'was' | 'values' | 'texts' | 'times'>) => Problems
  readonly before?: (extra: FormExtra) => ReactNode
  readonly after?: (extra: FormExtra) => ReactNode
  readonly saveLabel: string
  readonly cancelLabel?: string | undefined
  readonly onSave: (record: RecordToSave) => Promise<unknown>
  /** values: what stands in the record now, of the fields that the form shows. */
  readonly onDone: (values: StoredValues) => void
  readonly onCancel: () => void
}

interface FieldProps {
  readonly field: RecordField
  /** Its name, text and problem in the form. */
  readonly input: ReturnType<FormExtra['field']>
  readonly focus: boolean
  readonly yards?: RecordFormProps['yards']
  readonly measures: Measures
  /** Without its hint, among many alike. */
  readonly isPlain?: boolean
}

/** A field of a record, shown by what it holds. */
export function RecordInput({ field, input, focus, yards = [], measures, isPlain = false }: FieldProps) {
  const unit = fieldUnit(field, measures)
  const shared = {
    ...input,
    label: `${field.label}${unit && `, ${unit}`}`,
    description: isPlain ? undefined : field.hint,
    required: field.needed === true,
    withAsterisk: field.needed === true,
    inputWrapperOrder: ['label' as const, 'input' as const, 'description' as const, 'error' as const],
    ...(focus ? { 'data-autofocus': true } : {}),
  }
  if (field.type === 'word' || field.type === 'yard') {
    const choices =
      field.type === 'word'
        ? field.words.map((word) => ({ value: word, label: wordOf(word) }))
        : yards.map(({ id, name }) => ({ value: String(id), label: name }))
    return (
      <NativeSelect
        {...shared}
        data={[{ value: '', label: field.needed ? phrase('Choose') : phrase('unknown') }, ...choices]}
      />
    )
  }
  if (field.type === 'prose') return <Textarea {...shared} />
  if (field.type === 'moment') return <TimeField {...shared} />
  return (
    <TextInput
      {...shared}
      autoComplete="off"
      spellCheck={false}
      {...(field.type === 'number' || field.type === 'whole' ? { inputMode: 'decimal' as const } : {})}
    />
  )
}

/**
 * The fields of a record. Each says what is wrong where it is typed; what is typed outlives the dialog, the window and
 * a refused save; and what another window changed meanwhile is shown beside it.
 */
export function RecordForm({
  fields: all,
  draftName,
  start,
  isNew,
  without = [],
  yards,
  startTexts = {},
  offered = {},
  check,
  before,
  after,
  saveLabel,
  cancelLabel,
  onSave,
  onDone,
  onCancel,
}: RecordFormProps) {
  const measures = useMeasures()
  const { times } = measures
  const fields = Object.fromEntries(Object.entries(all).filter(([column]) => !without.includes(column)))
  const textOf = (column: string, value: StoredValues[string] | undefined): string =>
    fields[column] ? fieldText(fields[column], value ?? null, measures) : String(value)
  const startAs = {
    was: start,
    texts: {
      ...startTexts,
      ...Object.fromEntries(Object.keys(fields).map((column) => [column, textOf(column, start[column])])),
      ...offered,
    },
  }
  const draft = useDraft<TypedRecord>(draftName, startAs)
  const { was } = draft.value
  const seen = isNew ? {} : was
  const read = (texts: Texts) => readFields(fields, texts, seen, measures)
  const form = useSaveForm<Texts, unknown>({
    start: startAs.texts,
    draft: { ...draft, value: draft.value.texts, set: (texts) => draft.set({ was, texts }) },
    check: (texts) => {
      const { values, problems } = read(texts)
      return { ...problems, ...check?.({ was: seen, values, texts, times }) }
    },
    save: (texts, by) => {
      const changed = Object.entries(read(texts).values).filter(([column, value]) => value !== (seen[column] ?? null))
      return onSave({ was: seen, values: Object.fromEntries(changed), texts, by, times })
    },
    onSaved: (_, texts) => {
      draft.clear()
      onDone(read(texts).values)
    },
  })
  const { values: texts, problems, conflict } = form
  const extra = { was: seen, values: read(texts).values, texts, times, problems, setText: form.type, field: form.field }
  const settle = ({ field, stored }: FieldConflictView, text = texts[field]) => {
    draft.set({ was: { ...was, [field]: stored }, texts: text === undefined ? texts : { ...texts, [field]: text } })
    if (conflict?.data.fields.length === 1) form.settle()
  }
  const conflicts = conflict?.data.fields.filter(({ field, stored }) => (was[field] ?? null) !== stored) ?? []
  const firstColumn = Object.keys(fields)[0]
  return (
    <SaveForm form={form} saveLabel={saveLabel} onCancel={onCancel} cancelLabel={cancelLabel}>
      {!isNew && <OthersHere form={draftName} />}
      {before?.(extra)}
      <div className="form-fields">
        {Object.entries(fields).map(([column, field]) => (
          <RecordInput
            key={column}
            field={field}
            input={form.field(column)}
            focus={column === firstColumn && before === undefined}
            yards={yards}
            measures={measures}
          />
        ))}
      </div>
      {after?.(extra)}
      {conflict && conflicts.length > 0 && (
        <ConflictNotice
          message={conflict.message}
          conflicts={conflicts}
          labelOf={(field) => fields[field]?.label ?? field}
          textOf={(column, value) => (fields[column] ? shownText(fields[column], value, measures) : String(value))}
          onKeep={(choice) => settle(choice)}
          onTake={(choice) => settle(choice, textOf(choice.field, choice.stored))}
        />
      )}
    </SaveForm>
  )
}
