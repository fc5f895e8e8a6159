import { Button } from '@mantine/core'
import type { RosterList } from '#core/contracts/unit.ts'
import { type Trust, findingCodes, trustStates } from '#core/findings/finding.ts'
import { type UnitKind, unitKinds } from '#core/words/vocabulary.ts'
import { AddressCheck, AddressChoice, AddressText } from '#renderer/parts/address-fields.tsx'
import { changeParams } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { TrustShape, trustColour } from '#renderer/parts/marks.tsx'
import { findingTitle } from '#core/findings/finding-title.ts'
import { trustMeanings } from '#renderer/parts/record-text.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { type RosterView, isFiltered, noFilter } from './roster-view.ts'

const kindTitles: Readonly<Record<UnitKind, string>> = {
  tractor: phrase('Tractors'),
  trailer: phrase('Trailers'),
  truck: phrase('Trucks'),
}

/** Search and filters; each change is a new address, so Back undoes it. */
export function RosterFilters({ view, choices }: { view: RosterView; choices: RosterList['choices'] }) {
  const present = new Set(choices.findings)
  return (
    <search className="flow roster-filters">
      <AddressText
        name="text"
        className="roster-search"
        aria-label={phrase('Search units')}
        placeholder={phrase('Search number, make, model, yard')}
        type="search"
        onKeyDown={(event) => {
          if (event.key !== 'ArrowDown') return
          event.preventDefault()
          document.querySelector<HTMLElement>('[role="grid"]')?.focus()
        }}
      />
      <AddressChoice
        name="kind"
        heard={phrase('Kind')}
        all={phrase('Every kind')}
        options={unitKinds.map((kind) => ({ value: kind, label: kindTitles[kind] }))}
      />
      <AddressChoice name="yard" heard={phrase('Yard')} all={phrase('Every yard')} options={choices.yards} />
      <AddressChoice
        name="finding"
        heard={phrase('Finding')}
        all={phrase('With or without findings')}
        options={findingCodes
          .filter((code) => present.has(code) || code === view.finding)
          .map((code) => ({ value: code, label: findingTitle(code) }))}
      />
      {choices.retired && <AddressCheck name="retired" label={phrase('Retired too')} />}
      {isFiltered(view) && <Button onClick={() => changeParams(noFilter)}>{phrase('Clear filters')}</Button>}
    </search>
  )
}

interface TrustStripProps {
  counts: Readonly<Record<Trust, number>>
  notSensed: number
  chosen: ReadonlySet<Trust>
  onChange: (chosen: ReadonlySet<Trust>) => void
}

/** How many units stand in each trust state, worst first; each count is a switch that filters the list. */
export function TrustStrip({ counts, notSensed, chosen, onChange }: TrustStripProps) {
  const total = trustStates.reduce((sum, trust) => sum + counts[trust], 0) + notSensed
  const toggle = (trust: Trust) => {
    const next = new Set(chosen)
    if (!next.delete(trust)) next.add(trust)
    onChange(next)
  }
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset is for form fields, these are switches
    <div className="strip" role="group" aria-label={phrase('Units by trust')}>
      {trustStates.map((trust) => (
        <button
          key={trust}
          type="button"
          className="strip-state"
          aria-pressed={chosen.has(trust)}
          title={trustMeanings[trust]}
          onClick={() => toggle(trust)}
        >
          <span className="strip-word">
            <TrustShape trust={trust} />
            {word(trust)}
          </span>
          <span className="strip-count">{count(counts[trust])}</span>
          <svg className="strip-share" width="100%" height="3" aria-hidden="true">
            <rect width={`${total === 0 ? 0 : (100 * counts[trust]) / total}%`} height="3" fill={trustColour(trust)} />
          </svg>
        </button>
      ))}
      <div className="strip-total">
        <span className="strip-word">{phrase('units')}</span>
        <span className="strip-count">{count(total)}</span>
        {notSensed > 0 && (
          <span className="quiet">{phrase('{notSensed} not sensed', { notSensed: count(notSensed) })}</span>
        )}
      </div>
    </div>
  )
}
