import { NativeSelect, TextInput } from '@mantine/core'
import type { StoredValues } from '#core/words/change.ts'
import { recordFields } from '#core/words/record-fields.ts'
import { type PressureReference, pressureReferences } from '#core/words/vocabulary.ts'
import type { Measures } from '#renderer/parts/format.ts'
import { readFields } from '#renderer/parts/record-text.ts'
import type { Problems, Texts, useSaveForm } from '#renderer/parts/save-form.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

type Input = ReturnType<ReturnType<typeof useSaveForm<Texts, unknown>>['field']>

const { cell, report_every_s } = recordFields.sensor
const fields = { cell, report_every_s }

/** What a mounting asks of the sensor beside its serial, before anything is typed. */
export const sensorTexts = { $reference: 'gauge', $cell: '', $report_every_s: '' }

export const referenceOf = (texts: Texts): PressureReference =>
  pressureReferences.find((reference) => reference === texts['$reference']) ?? 'gauge'

/** The columns of the sensor that its texts stand for, beside the sentences for those that stand for none. */
export function sensorOf(texts: Texts, measures: Measures): { values: StoredValues; problems: Problems } {
  const own = { cell: texts['$cell'] ?? '', report_every_s: texts['$report_every_s'] ?? '' }
  const { values, problems } = readFields(fields, own, {}, measures)
  return {
    values,
    problems: Object.fromEntries(Object.entries(problems).map(([column, text]) => [`$${column}`, text])),
  }
}

const plain = { autoComplete: 'off', spellCheck: false } as const

export const CellField = (input: Input) => (
  <TextInput {...plain} {...input} label={cell.label} description={cell.hint} inputWrapperOrder={order} />
)

export const IntervalField = (input: Input) => (
  <TextInput
    {...plain}
    {...input}
    label={`${report_every_s.label}, ${report_every_s.range.unit}`}
    inputMode="decimal"
    inputWrapperOrder={order}
  />
)

const order: ('label' | 'input' | 'description' | 'error')[] = ['label', 'input', 'description', 'error']

/** What sensors show that are new to the fleet. */
export const ReferenceField = (input: Input) => (
  <NativeSelect
    {...input}
    label={phrase('Sensors show')}
    data={pressureReferences.map((reference) => ({
      value: reference,
      label: phrase('{reference} pressure', { reference: word(reference) }),
    }))}
  />
)
