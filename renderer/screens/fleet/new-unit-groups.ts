import type { StoredValues } from '#core/words/change.ts'
import { type RecordFields, recordFields, usualGroups } from '#core/words/record-fields.ts'
import type { UnitKind } from '#core/words/vocabulary.ts'
import type { Measures } from '#renderer/parts/format.ts'
import { readFields } from '#renderer/parts/record-text.ts'
import type { Problems, Texts } from '#renderer/parts/save-form.tsx'
import { phrase } from '#core/words/phrase.ts'

const { name, role, axles, limit_lb, first_axle_ft, axle_spacing_ft } = recordFields['axle group']
/** What the form asks of an axle group; the rest stands in the record afterwards. */
export const groupFields = { name, role, axles, limit_lb, first_axle_ft, axle_spacing_ft } satisfies RecordFields

/** How a group's circuits are laid out: by the name of each, joined; none for a group on steel. */
export const circuitLayouts = ['', 'main', 'left, right', 'front, rear'] as const
export const layoutWords: Readonly<Record<string, string>> = {
  '': phrase('none: on steel'),
  main: phrase('one, main'),
  'left, right': phrase('left and right'),
  'front, rear': phrase('one an axle: front and rear'),
}
const circuitsIn = (layout: string): string[] => layout.split(', ').filter(Boolean)

/** The most groups that the form takes. */
export const mostGroups = 6

export const groupText = (group: number, column: string): string => `$group${group} ${column}`
export const serialText = (group: number, circuit: string): string => `$serial${group} ${circuit}`
export const groupCount = (texts: Texts): number => Number(texts['$groups'] ?? 0)

/** The texts of a kind's usual groups, from front to back. */
export function usualTexts(kind: string | undefined): Record<string, string> {
  const groups = usualGroups[kind as UnitKind] ?? []
  return Object.fromEntries([
    ['$groups', String(groups.length)],
    ...groups.flatMap(({ group, circuits }, place) => [
      ...Object.keys(groupFields).map((column) => [groupText(place, column), String(group[column] ?? '')] as const),
      [groupText(place, 'circuits'), circuits.map((circuit) => String(circuit['name'])).join(', ')] as const,
    ]),
  ])
}

/** Empty texts of one more group behind the others. */
export const oneMoreGroup = (texts: Texts): Record<string, string> => {
  const place = groupCount(texts)
  return {
    $groups: String(place + 1),
    ...Object.fromEntries(Object.keys(groupFields).map((column) => [groupText(place, column), ''])),
    [groupText(place, 'circuits')]: 'main',
  }
}

export interface TypedGroup {
  readonly place: number
  readonly name: string
  readonly values: StoredValues
  readonly problems: Problems
  readonly circuits: readonly { readonly name: string; readonly serial: string }[]
}

/** The groups as typed. measuredBy follows from the circuits: a steer axle on steel is estimated from the drives. */
export function readGroups(texts: Texts, measures: Measures): TypedGroup[] {
  const fields: RecordFields = groupFields
  return Array.from({ length: groupCount(texts) }, (_, place) => {
    const own = Object.fromEntries(Object.keys(fields).map((column) => [column, texts[groupText(place, column)] ?? '']))
    const { values, problems } = readFields(fields, own, {}, measures)
    const circuits = circuitsIn(texts[groupText(place, 'circuits')] ?? '')
    const measuredBy = circuits.length > 0 ? 'circuit' : values['role'] === 'steer' ? 'estimate' : 'ticket'
    return {
      place,
      name: own['name'] ?? '',
      values: { ...values, measured_by: measuredBy },
      problems: Object.fromEntries(
        Object.entries(problems).map(([column, text]) => [groupText(place, column), text] as const),
      ),
      circuits: circuits.map((circuit) => ({
        name: circuit,
        serial: (texts[serialText(place, circuit)] ?? '').trim(),
      })),
    }
  })
}
