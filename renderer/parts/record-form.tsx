import { Button, Modal, NativeSelect, TextInput, Textarea } from '@mantine/core'
import { ORPCError, isDefinedError } from '@orpc/client'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useRef, useState } from 'react'
import type { FieldConflictView } from '#core/contracts/base.ts'
import type { StoredValues } from '#core/words/change.ts'
import type { RecordField, RecordFields } from '#core/words/record-fields.ts'
import { useDraft } from '#renderer/parts/draft.ts'
import { type Measures, useMeasures } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ConflictNotice, DraftNote, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { fieldText, fieldUnit, readFields } from '#renderer/parts/record-text.ts'
import { TimeField } from '#renderer/parts/time-field.tsx'
import type { Times } from '#renderer/parts/times.ts'
import './record-form.css'

/** What a form holds while it is typed: what the person saw of the record, and the text of every field. */
interface TypedRecord {
  readonly was: StoredValues
  readonly texts: Readonly<Record<string, string>>
}

/**
 * What a form saves: values that differ from what the person saw, and texts of fields that are no columns of the
 * record.
 */
export interface RecordToSave {
  readonly was: StoredValues
  readonly values: StoredValues
  readonly texts: Readonly<Record<string, string>>
  readonly by: string
  readonly times: Times
}

/** What stands below the fields of a form, and depends on what is typed in them. */
export interface FormExtra {
  readonly was: StoredValues
  /** Of the fields that can be read. */
  readonly values: StoredValues
  readonly texts: Readonly<Record<string, string>>
  readonly problems: Readonly<Record<string, string>>
  readonly times: Times
  setText(name: string, text: string): void
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
  readonly startTexts?: Readonly<Record<string, string>>
  /** Sentences for further fields. */
  readonly check?: (typed: Pick<FormExtra, 'was' | 'values' | 'texts' | 'times'>) => Readonly<Record<string, string>>
  readonly before?: (extra: FormExtra) => ReactNode
  readonly after?: (extra: FormExtra) => ReactNode
  readonly saveLabel: string
  readonly onSave: (record: RecordToSave) => Promise<unknown>
  readonly onDone: () => void
  readonly onCancel: () => void
}

interface FieldProps {
  readonly column: string
  readonly field: RecordField
  readonly text: string
  readonly problem: string | null
  readonly focus: boolean
  readonly yards: RecordFormProps['yards']
  readonly measures: Measures
  readonly onText: (text: string) => void
  readonly onLeave: () => void
}

function Field({ column, field, text, problem, focus, yards = [], measures, onText, onLeave }: FieldProps) {
  const unit = fieldUnit(field, measures)
  const shared = {
    name: column,
    label: `${field.label}${unit && `, ${unit}`}`,
    description: field.hint,
    required: field.needed === true,
    withAsterisk: field.needed === true,
    error: problem,
    value: text,
    onBlur: onLeave,
    inputWrapperOrder: ['label' as const, 'input' as const, 'description' as const, 'error' as const],
    ...(focus ? { 'data-autofocus': true } : {}),
  }
  if (field.type === 'word' || field.type === 'yard') {
    const choices =
      field.type === 'word'
        ? field.words.map((word) => ({ value: word, label: word }))
        : yards.map(({ id, name }) => ({ value: String(id), label: name }))
    return (
      <NativeSelect
        {...shared}
        data={[{ value: '', label: field.needed ? 'Choose' : 'unknown' }, ...choices]}
        onChange={(event) => onText(event.currentTarget.value)}
      />
    )
  }
  if (field.type === 'prose')
    return (
      <Textarea
        {...shared}
        size="xs"
        autosize
        minRows={2}
        maxRows={8}
        onChange={(event) => onText(event.currentTarget.value)}
      />
    )
  if (field.type === 'moment') return <TimeField {...shared} onText={onText} />
  return (
    <TextInput
      {...shared}
      autoComplete="off"
      spellCheck={false}
      {...(field.type === 'number' || field.type === 'whole' ? { inputMode: 'decimal' as const } : {})}
      onChange={(event) => onText(event.currentTarget.value)}
    />
  )
}

const isConflict = (error: unknown): error is ORPCError<'CONFLICT', { fields: FieldConflictView[] }> =>
  error instanceof ORPCError && error.code === 'CONFLICT'

/** The field that the core refused, if the form has it. */
const refusedField = (error: unknown): { field: string; message: string } | null => {
  if (!(error instanceof ORPCError) || error.code !== 'REFUSED' || !isDefinedError(error)) return null
  const { field } = error.data as { field: string }
  return field === '' ? null : { field, message: error.message }
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
  check,
  before,
  after,
  saveLabel,
  onSave,
  onDone,
  onCancel,
}: RecordFormProps) {
  const client = useQueryClient()
  const measures = useMeasures()
  const { times } = measures
  const fields = Object.fromEntries(Object.entries(all).filter(([column]) => !without.includes(column)))
  const textsOf = (values: StoredValues) => ({
    ...startTexts,
    ...Object.fromEntries(
      Object.entries(fields).map(([column, field]) => [column, fieldText(field, values[column] ?? null, measures)]),
    ),
  })
  const draft = useDraft<TypedRecord>(draftName, { was: start, texts: textsOf(start) })
  const [left, setLeft] = useState<ReadonlySet<string>>(new Set())
  const [asked, setAsked] = useState(false)
  const form = useRef<HTMLFormElement>(null)
  const { was, texts } = draft.value
  const seen = isNew ? {} : was
  const { values, problems: own } = readFields(fields, texts, isNew ? {} : was, measures)
  const problems = { ...own, ...check?.({ was: seen, values, texts, times }) }

  const save = useMutation({
    mutationFn: (by: string) => {
      const changed = Object.fromEntries(
        Object.entries(values).filter(([column, value]) => value !== (seen[column] ?? null)),
      )
      return onSave({ was: seen, values: changed, texts, by, times })
    },
    onSuccess: async () => {
      draft.clear()
      await client.invalidateQueries()
      onDone()
    },
    onError: (error) => {
      const refused = refusedField(error)
      if (refused) (form.current?.elements.namedItem(refused.field) as HTMLElement | null)?.focus()
    },
  })
  const refused = refusedField(save.error)
  const shown = (name: string): string | null =>
    refused?.field === name ? refused.message : asked || left.has(name) ? (problems[name] ?? null) : null
  const setText = (name: string, text: string) => {
    if (refused?.field === name) save.reset()
    draft.set({ was, texts: { ...texts, [name]: text } })
  }
  const submit = async () => {
    setAsked(true)
    const [wrong] = Object.keys(problems)
    if (wrong !== undefined) {
      ;(form.current?.elements.namedItem(wrong) as HTMLElement | null)?.focus()
      return
    }
    const by = await personNow()
    if (by !== null) save.mutate(by)
  }
  const extra: FormExtra = {
    was: seen,
    values,
    texts,
    times,
    problems: Object.fromEntries(
      Object.keys(problems).flatMap((name) => (shown(name) === null ? [] : [[name, shown(name) as string]])),
    ),
    setText,
  }
  const settle = ({ field, stored }: FieldConflictView, text: string | undefined) => {
    draft.set({ was: { ...was, [field]: stored }, texts: text === undefined ? texts : { ...texts, [field]: text } })
    if (isConflict(save.error) && save.error.data.fields.length === 1) save.reset()
  }
  const conflicts = isConflict(save.error)
    ? save.error.data.fields.filter(({ field, stored }) => (was[field] ?? null) !== stored)
    : []
  const firstColumn = Object.keys(fields)[0]
  return (
    <form
      ref={form}
      className="record-form"
      noValidate
      onSubmit={(event) => {
        event.preventDefault()
        void submit()
      }}
    >
      <DraftNote draft={draft} />
      {before?.(extra)}
      <div className="record-fields">
        {Object.entries(fields).map(([column, field]) => (
          <Field
            key={column}
            column={column}
            field={field}
            text={texts[column] ?? ''}
            problem={shown(column)}
            focus={column === firstColumn && before === undefined}
            yards={yards}
            measures={measures}
            onText={(text) => setText(column, text)}
            onLeave={() => {
              if ((texts[column] ?? '') !== '') setLeft((now) => new Set([...now, column]))
            }}
          />
        ))}
      </div>
      {after?.(extra)}
      {isConflict(save.error) && conflicts.length > 0 && (
        <ConflictNotice
          message={save.error.message}
          conflicts={conflicts}
          labelOf={(field) => fields[field]?.label ?? field}
          textOf={(field, value) => (fields[field] ? fieldText(fields[field], value, measures) : String(value))}
          onKeep={(conflict) => settle(conflict, undefined)}
          onTake={(conflict) =>
            settle(
              conflict,
              fields[conflict.field]
                ? fieldText(fields[conflict.field] as RecordField, conflict.stored, measures)
                : undefined,
            )
          }
        />
      )}
      {save.isError && !isConflict(save.error) && (refused === null || !(refused.field in texts)) && (
        <ProblemNotice title="Nothing was saved" error={save.error} />
      )}
      <div className="record-actions">
        <Button type="submit" loading={save.isPending}>
          {saveLabel}
        </Button>
        <Button variant="default" onClick={onCancel}>
          Close
        </Button>
        {draft.typed && (
          <span className="quiet">
            Not saved yet; it stays here until you save it or{' '}
            <button
              type="button"
              className="link"
              onClick={() => {
                draft.clear()
                setAsked(false)
                setLeft(new Set())
                save.reset()
              }}
            >
              give it up
            </button>
            .
          </span>
        )}
      </div>
    </form>
  )
}

/** A form in a dialog. */
export function RecordDialog({
  title,
  opened,
  onClose,
  children,
}: {
  title: string
  opened: boolean
  onClose: () => void
  children: ReactNode
}) {
  return (
    <Modal opened={opened} onClose={onClose} title={title} size={720} yOffset="6vh">
      {opened && children}
    </Modal>
  )
}
