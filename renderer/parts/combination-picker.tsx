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

interface CombinationPickerProps {
  units: PickUnits
  draft: Combination
  onPick: (change: Combination) => void
}

/** The units on the scale: choosing a tractor brings the trailers it was last weighed with. */
export function CombinationPicker({ units: { units, usual }, draft, onPick }: CombinationPickerProps) {
  // Of 10,000 units the lists would be made anew at each key that is typed in another field.
  const { leads, leadOptions, trailerOptions } = useMemo(() => {
    const option = ({ unit, yard }: PickUnits['units'][number]) => ({
      value: unit,
      label: yard === null ? unit : `${unit}, ${yard}`,
    })
    const leading = units.filter(({ kind }) => kind !== 'trailer')
    const towed = units.filter(({ kind }) => kind === 'trailer')
    return { leads: leading, leadOptions: leading.map(option), trailerOptions: towed.map(option) }
  }, [units])
  const pickLead = (lead: string | null) => {
    const last = usual.find(({ unit }) => unit === lead)?.units.filter((unit) => unit !== lead)
    onPick({ lead, trailers: last ?? (draft.lead === null ? draft.trailers : []) })
  }
  // A whole number typed quickly counts before the list has marked it.
  const pickTyped = ({ key, currentTarget }: KeyboardEvent<HTMLInputElement>) => {
    const typed = leads.find(({ unit }) => unit.toLowerCase() === currentTarget.value.trim().toLowerCase())
    if (key === 'Enter' && typed) pickLead(typed.unit)
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
        data={leadOptions}
        value={draft.lead}
        onChange={pickLead}
        onKeyDown={pickTyped}
        clearButtonProps={{ 'aria-label': phrase('No tractor') }}
      />
      <MultiSelect
        label={phrase('Trailers, front to back')}
        placeholder={draft.trailers.length === 0 ? phrase('None') : ''}
        searchable
        limit={mostShown}
        maxValues={mostTrailers}
        nothingFoundMessage={phrase('No such trailer')}
        data={trailerOptions}
        value={[...draft.trailers]}
        searchValue={search}
        onSearchChange={setSearch}
        onChange={pickTrailers}
        selectFirstOptionOnChange
      />
    </div>
  )
}
