import { MultiSelect, Select, type SelectProps } from '@mantine/core'
import { type KeyboardEvent, useMemo, useState } from 'react'
import type { PickUnits } from '#core/contracts/weigh.ts'
import { phrase } from '#core/words/phrase.ts'

const mostTrailers = 3
export const mostShown = 60

/** A unit by its number, found while it is typed. */
export const UnitSelect = (select: SelectProps) => (
  <Select
    searchable
    limit={mostShown}
    nothingFoundMessage={phrase('No such unit')}
    selectFirstOptionOnChange
    {...select}
  />
)

/** The units that stand together. */
export interface Combination {
  /** The tractor or truck, if there is one. */
  readonly lead: string | null
  readonly trailers: readonly string[]
}

export const unitsOf = ({ lead, trailers }: Combination): string[] =>
  lead === null ? [...trailers] : [lead, ...trailers]

/** The combination of a fleet that can make only one: its one tractor or truck with its one trailer. */
export function onlyCombination({ units }: PickUnits): Combination {
  const [lead, ...leads] = units.filter(({ kind }) => kind !== 'trailer')
  const [trailer, ...trailers] = units.filter(({ kind }) => kind === 'trailer')
  return {
    lead: lead && leads.length === 0 ? lead.unit : null,
    trailers: trailer && trailers.length === 0 && leads.length === 0 ? [trailer.unit] : [],
  }
}

/** How units are looked for of which a large fleet does not tell all at once. */
export interface UnitsSought {
  /** Is given what is typed, so that the units found come next. */
  readonly search: (text: string) => void
  /** What a text finds. */
  readonly find: (text: string) => Promise<PickUnits>
}

interface CombinationPickerProps {
  units: PickUnits
  sought: UnitsSought
  draft: Combination
  onPick: (change: Combination) => void
}

const isTrailer = ({ kind }: PickUnits['units'][number]): boolean => kind === 'trailer'

const optionOf = ({ unit, yard }: PickUnits['units'][number]) => ({
  value: unit,
  label: yard === null ? unit : `${unit}, ${yard}`,
})

/** Options with those that are chosen, which may not be among them. */
const withChosen = (options: readonly ReturnType<typeof optionOf>[], chosen: readonly string[]) => [
  ...options,
  ...chosen
    .filter((unit) => options.every(({ value }) => value !== unit))
    .map((unit) => ({ value: unit, label: unit })),
]

/** The units on the scale: choosing a tractor brings the trailers it was last weighed with. */
export function CombinationPicker({ units: picks, sought, draft, onPick }: CombinationPickerProps) {
  // They would be made anew at each key that is typed in another field.
  const options = useMemo(
    () => ({
      leads: picks.units.filter((unit) => !isTrailer(unit)).map(optionOf),
      trailers: picks.units.filter(isTrailer).map(optionOf),
    }),
    [picks],
  )
  const leads = withChosen(options.leads, draft.lead === null ? [] : [draft.lead])
  const pickLead = (lead: string | null, { usual }: PickUnits) => {
    const last = usual.find(({ unit }) => unit === lead)?.units.filter((unit) => unit !== lead)
    onPick({ lead, trailers: last ?? (draft.lead === null ? draft.trailers : []) })
  }
  const searchLead = (text: string) => {
    // What is chosen stands in the field too, and is not what is looked for.
    const isChosen = leads.some(({ value, label }) => value === draft.lead && label === text)
    sought.search(isChosen ? '' : text)
  }
  // A whole number typed quickly counts before the list has come and marked it.
  const pickTyped = async ({ key, currentTarget }: KeyboardEvent<HTMLInputElement>) => {
    const typed = currentTarget.value.trim().toLowerCase()
    if (key !== 'Enter' || typed === '') return
    const found = await sought.find(typed)
    const lead = found.units.find((unit) => unit.unit.toLowerCase() === typed && !isTrailer(unit))
    if (lead && lead.unit !== draft.lead) pickLead(lead.unit, found)
  }
  const [search, setSearch] = useState('')
  // Who types is adding: the list takes a trailer off that is chosen again, but one that came along and is typed as
  // well is meant to stay.
  const pickTrailers = (chosen: string[]) => {
    const takesOff = draft.trailers.some((unit) => !chosen.includes(unit))
    if (search.trim() === '' || !takesOff) onPick({ lead: draft.lead, trailers: chosen })
  }
  return (
    <div className="stack combination-picker">
      <UnitSelect
        label={phrase('Tractor or truck')}
        placeholder={phrase('Type a unit number')}
        clearable
        allowDeselect={false}
        data={leads}
        value={draft.lead}
        onChange={(lead) => pickLead(lead, picks)}
        onSearchChange={searchLead}
        onKeyDown={(event) => void pickTyped(event)}
        clearButtonProps={{ 'aria-label': phrase('No tractor') }}
      />
      <MultiSelect
        label={phrase('Trailers, front to back')}
        placeholder={draft.trailers.length === 0 ? phrase('None') : ''}
        searchable
        limit={mostShown}
        maxValues={mostTrailers}
        nothingFoundMessage={phrase('No such trailer')}
        data={withChosen(options.trailers, draft.trailers)}
        value={[...draft.trailers]}
        searchValue={search}
        onSearchChange={(text) => {
          setSearch(text)
          sought.search(text)
        }}
        onChange={pickTrailers}
        selectFirstOptionOnChange
      />
    </div>
  )
}
