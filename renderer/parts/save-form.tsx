import { Button, Textarea } from '@mantine/core'
import { useForm } from '@mantine/form'
import { ORPCError, isDefinedError } from '@orpc/client'
import { useMutation } from '@tanstack/react-query'
import { type ChangeEvent, type ReactNode, type SubmitEvent, useLayoutEffect, useRef } from 'react'
import type { FieldConflictView } from '#core/contracts/base.ts'
import type { Draft } from '#renderer/parts/draft.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { personNow } from '#renderer/parts/person.ts'
import { DraftNote, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import './save-form.css'

/** What a form holds: the text of each of its fields, by name. */
export type Texts = Readonly<Record<string, string>>
/** Sentences by field; none for one that will do. */
export type Problems = Readonly<Record<string, string>>

const noProblem = (): Problems => ({})
const isSame = (a: Texts, b: Texts): boolean =>
  Object.keys({ ...a, ...b }).every((name) => (a[name] ?? '') === (b[name] ?? ''))

/**
 * The form library takes a dot in a name for a step into an object; fields are named after axle groups too, which
 * people name as they like. A sign that nobody can type stands for it.
 */
const [dot, noDot] = ['.', '\ue000']
const renamed = (texts: Texts, from: string, to: string): Record<string, string> =>
  Object.fromEntries(Object.entries(texts).map(([name, text]) => [name.replaceAll(from, to), text]))

/** The field that the core refused, and its sentence. */
function refusalOf(error: unknown): { field: string; message: string } | null {
  if (!(error instanceof ORPCError) || error.code !== 'REFUSED' || !isDefinedError(error)) return null
  return { field: (error.data as { field: string }).field, message: error.message }
}

export const isConflict = (error: unknown): error is ORPCError<'CONFLICT', { fields: FieldConflictView[] }> =>
  error instanceof ORPCError && error.code === 'CONFLICT'

/** A step that saves what it is given under the name of whoever is at the counter; without a name nothing is saved. */
export function useSaving<V, R>(
  save: (values: V, by: string) => Promise<R>,
  onSaved?: (result: R, values: V) => void,
  onError?: (error: Error) => void,
) {
  const { mutate, isPending, error, reset } = useMutation({
    mutationFn: ({ values, by }: { values: V; by: string }) => save(values, by),
    onSuccess: (result, { values }) => onSaved?.(result, values),
    ...(onError ? { onError } : {}),
  })
  const send = async (values: V) => {
    const by = await personNow()
    if (by !== null) mutate({ values, by })
  }
  return { send, isPending, error, reset }
}

interface SaveFormOptions<V extends Texts, R> {
  /** The texts before anything is typed. */
  readonly start: V
  /** Where what is typed is kept until it is saved, for a form that outlives its window. */
  readonly draft?: Draft<V>
  readonly check?: (values: V) => Problems
  /** The form's name of a field that the core speaks of. */
  readonly at?: (field: string) => string
  readonly save: (values: V, by: string) => Promise<R>
  readonly onSaved: (result: R, values: V) => void
}

/**
 * A form that saves: its texts, what is wrong with each of them, where it is typed, and the step that saves. A field is
 * checked when it is left with something in it, all of them when the form is sent, and what the core refuses stands at
 * its field as well; the first field with a problem takes the focus.
 */
export function useSaveForm<V extends Texts, R>({
  start,
  draft,
  check = noProblem,
  at = (field) => field,
  save,
  onSaved,
}: SaveFormOptions<V, R>) {
  const valuesOf = (texts: Texts) => renamed(texts, noDot, dot) as unknown as V
  const outside = renamed(draft?.value ?? start, dot, noDot)
  const form = useForm<Record<string, string>>({
    initialValues: outside,
    validate: (texts) => renamed(check(valuesOf(texts)), dot, noDot),
  })
  const element = useRef<HTMLFormElement>(null)
  const focus = (name = '') => (element.current?.elements.namedItem(name) as HTMLElement | null)?.focus()
  // A draft that is found or discarded, and a record that changes while nothing is typed, come from outside. They are
  // taken over before anything else can happen: later, a key that was pressed meanwhile would be undone.
  useLayoutEffect(() => {
    if (draft && !isSame(outside, form.getValues())) form.setValues(outside)
  })

  const saving = useSaving(save, onSaved, (error) => {
    const refused = refusalOf(error)
    const field = refused === null ? undefined : at(refused.field)
    const path = field?.replaceAll(dot, noDot)
    if (!refused || path === undefined || !(path in form.getValues())) return
    form.setFieldError(path, refused.message)
    focus(field)
  })
  const refused = refusalOf(saving.error)
  const values = valuesOf(form.values)
  const type = (name: keyof V & string, text: string) => {
    form.setFieldValue(name.replaceAll(dot, noDot), text)
    draft?.set(valuesOf(form.getValues()))
  }
  return {
    element,
    draft,
    values,
    problems: renamed(form.errors as Problems, noDot, dot),
    type,
    /** Types into several fields at once, new ones among them. */
    typeAll: (texts: Texts) => {
      form.setValues(renamed(texts, dot, noDot))
      draft?.set(valuesOf(form.getValues()))
    },
    /** What an input of the form needs: its name, its text, its problem, and where to tell what is typed. */
    field: (name: keyof V & string) => ({
      name,
      value: values[name] ?? '',
      error: form.errors[name.replaceAll(dot, noDot)],
      onChange: ({ currentTarget }: ChangeEvent<HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement>) =>
        type(name, currentTarget.value),
      onBlur: () => {
        if ((values[name] ?? '') !== '') form.validateField(name.replaceAll(dot, noDot))
      },
    }),
    submit: (event?: SubmitEvent<HTMLFormElement>) =>
      form.onSubmit(
        (texts) => void saving.send(valuesOf(texts)),
        (problems) => focus(Object.keys(problems)[0]?.replaceAll(noDot, dot)),
      )(event),
    isPending: saving.isPending,
    conflict: isConflict(saving.error) ? saving.error : null,
    /** What went wrong and stands at no field. */
    failure: isConflict(saving.error) || (refused !== null && at(refused.field) in values) ? null : saving.error,
    /** Discards what is typed. */
    clear: () => {
      draft?.clear()
      form.clearErrors()
      saving.reset()
    },
    /** Forgets what went wrong. */
    settle: saving.reset,
  }
}

interface SaveFormProps {
  readonly form: Pick<
    ReturnType<typeof useSaveForm<Texts, unknown>>,
    'element' | 'submit' | 'isPending' | 'failure' | 'clear'
  > & { readonly draft: Pick<Draft<unknown>, 'restored' | 'typed' | 'clear'> | undefined }
  readonly saveLabel: ReactNode
  /** What to say where nothing was saved. */
  readonly failed?: string
  readonly cancelLabel?: string | undefined
  readonly onCancel: () => void
  readonly children: ReactNode
}

/** The frame of a form: its draft, its fields, what went wrong, and its buttons. */
export function SaveForm({
  form: { element, draft, submit, isPending, failure, clear },
  saveLabel,
  failed = phrase('Nothing was saved'),
  cancelLabel = phrase('Close'),
  onCancel,
  children,
}: SaveFormProps) {
  return (
    <form ref={element} className="save-form" noValidate onSubmit={submit}>
      {draft && <DraftNote draft={draft} />}
      {children}
      {failure && <ProblemNotice title={failed} error={failure} />}
      <div className="flow">
        <Button variant="filled" type="submit" loading={isPending}>
          {saveLabel}
        </Button>
        <Button onClick={onCancel}>{cancelLabel}</Button>
        {draft?.typed && (
          <span className="quiet">
            <Phrase
              text="Not saved yet; it stays here until you save or <button>discard it</button>."
              with={{ button: (words) => <LinkButton onClick={clear}>{words}</LinkButton> }}
            />
          </span>
        )}
      </div>
    </form>
  )
}

/** The longest reason that is kept. */
const mostLetters = 2000

interface ReasonFormProps {
  /** What to say of an empty reason, as the rest of its sentence. */
  readonly empty: string
  readonly saveLabel: string
  readonly failed: string
  readonly onSave: (answer: { reason: string; by: string }) => Promise<unknown>
  readonly onDone: () => void
  readonly onCancel: () => void
  readonly children: ReactNode
}

/** A step that is not taken without a reason. */
export function ReasonForm({ empty, saveLabel, failed, onSave, onDone, onCancel, children }: ReasonFormProps) {
  const form = useSaveForm({
    start: { reason: '' },
    check: ({ reason }): Problems => {
      const letters = reason.trim().length
      if (letters === 0) return { reason: phrase('The reason is empty; {empty}', { empty }) }
      return letters > mostLetters
        ? {
            reason: phrase('The reason has {letters} letters; {mostLetters} at most are kept.', {
              letters,
              mostLetters,
            }),
          }
        : {}
    },
    save: ({ reason }, by) => onSave({ reason: reason.trim(), by }),
    onSaved: onDone,
  })
  return (
    <SaveForm form={form} saveLabel={saveLabel} failed={failed} cancelLabel={phrase('Cancel')} onCancel={onCancel}>
      {children}
      <Textarea label={phrase('Reason')} data-autofocus {...form.field('reason')} />
    </SaveForm>
  )
}
