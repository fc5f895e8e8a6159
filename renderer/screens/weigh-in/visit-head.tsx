import { NativeSelect, TextInput } from '@mantine/core'
import type { PickUnits } from '#core/contracts/weigh.ts'
import { phrase } from '#core/words/phrase.ts'
import { CombinationPicker, type UnitsSought } from '#renderer/parts/combination-picker.tsx'
import type { VisitDraft } from './visit-draft.ts'

interface VisitHeadProps {
  picks: PickUnits
  sought: UnitsSought
  scales: readonly string[]
  visit: VisitDraft
  onChange: (change: Partial<VisitDraft>) => void
}

/** What is on the scale, which scale that is, who drove and where it was loaded. */
export function VisitHead({ picks, sought, scales, visit, onChange }: VisitHeadProps) {
  return (
    <div className="visit-head">
      <CombinationPicker units={picks} sought={sought} draft={visit} onPick={onChange} />
      <NativeSelect
        label={phrase('Scale')}
        value={visit.scale}
        onChange={(event) => onChange({ scale: event.currentTarget.value })}
        data={[{ value: '', label: phrase('choose…') }, ...scales.map((scale) => ({ value: scale, label: scale }))]}
      />
      {picks.namesDrivers && (
        <TextInput
          label={phrase('Driver')}
          placeholder={phrase('if known')}
          maxLength={200}
          value={visit.driver ?? ''}
          onChange={(event) => onChange({ driver: event.currentTarget.value })}
        />
      )}
      <TextInput
        label={phrase('Loading lane')}
        placeholder={phrase('if known')}
        maxLength={200}
        value={visit.lane ?? ''}
        onChange={(event) => onChange({ lane: event.currentTarget.value })}
      />
    </div>
  )
}
