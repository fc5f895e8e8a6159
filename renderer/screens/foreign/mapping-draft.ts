import type { ForeignFileSource } from '#core/contracts/foreign.ts'
import {
  type ForeignField,
  type ForeignMapping,
  type ForeignSource,
  rowFields,
  valueFields,
} from '#core/foreign/mapping/mapping.ts'
import { phrase } from '#core/words/phrase.ts'

/** What is chosen and set on the screen and not yet imported. */
export interface ForeignDraft {
  readonly source: ForeignFileSource | null
  /** null: as guessed, or the saved one that fits. */
  readonly mapping: ForeignMapping | null
  /** The saved mapping that is worked on. */
  readonly savedId: number | null
}

export const nothingChosen: ForeignDraft = { source: null, mapping: null, savedId: null }

export const sourceName = (source: ForeignFileSource): string =>
  'inbox' in source ? source.name : (source.path.split(/[\\/]/).at(-1) ?? source.path)

const isFilled = (source: ForeignSource | undefined): boolean =>
  source !== undefined && ('column' in source || source.fixed.trim() !== '')

/** A mapping as the procedures take it: a value for all rows that is not typed yet is none. */
export function sendable(mapping: ForeignMapping): ForeignMapping {
  const filled = <T extends object>(sources: T): T =>
    Object.fromEntries(
      Object.entries(sources).filter(
        ([, source]) => typeof source === 'string' || isFilled(source as ForeignSource | undefined),
      ),
    ) as T
  return { ...mapping, fields: filled(mapping.fields), values: mapping.values.map(filled) }
}

/** What each column of the file fills, in words. */
export function columnUses(mapping: ForeignMapping): Map<string, string[]> {
  const uses = new Map<string, string[]>()
  const use = (source: ForeignSource | undefined, label: string) => {
    if (source === undefined || !('column' in source)) return
    const said = uses.get(source.column) ?? []
    if (!said.includes(label)) uses.set(source.column, [...said, label])
  }
  for (const { field, label } of rowFields(mapping)) use(mapping.fields[field], label)
  if (mapping.layout === 'wide') {
    for (const value of mapping.values) {
      use({ column: value.column }, mapping.kind === 'tickets' ? phrase('Weight') : phrase('Pressure'))
      for (const { field, label } of valueFields(mapping)) use(value[field as 'unit'], label)
    }
  }
  return uses
}

/** The mapping with a field set, or emptied. */
export function withField(
  mapping: ForeignMapping,
  field: ForeignField,
  source: ForeignSource | undefined,
): ForeignMapping {
  const { [field]: _, ...others } = mapping.fields
  return { ...mapping, fields: source === undefined ? others : { ...others, [field]: source } }
}
