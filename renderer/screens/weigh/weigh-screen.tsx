/*
 * Not on the kit of forms, which holds a fixed set of texts and checks each when it is left: here the fields follow
 * from the units that are chosen, and every keystroke is weighed and refused where it stands, before it is saved.
 */
import { Button, NativeSelect, TextInput } from '@mantine/core'
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { type ChangeEvent, useEffect, useEffectEvent, useMemo, useState } from 'react'
import type { PickUnits, WeighPreview } from '#core/contracts/weigh.ts'
import { weighReading } from '#core/weight/combination-weights.ts'
import { weigherOf } from '#core/weight/weigher.ts'
import { api } from '#renderer/client/api.ts'
import type { SaveOutcome } from '#renderer/client/outbox.ts'
import { usePickUnits } from '#renderer/client/pick-units.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { CombinationPicker, onlyCombination, unitsOf } from '#renderer/parts/combination-picker.tsx'
import { useDraft } from '#renderer/parts/draft.ts'
import { unlikelyPressure } from '#core/words/sentences/unlikely.ts'
import { ifValue, typedProblem, useMeasures } from '#renderer/parts/format.ts'
import { DraftNote, Notice } from '#renderer/parts/problem-notice.tsx'
import { useMay } from '#renderer/parts/rights.ts'
import { RightsNote } from '#renderer/parts/rights-note.tsx'
import { SavedNote } from '#renderer/parts/saved-note.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { UnlikelyNote } from '#renderer/parts/unlikely-note.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { BridgeView } from './bridge-view.tsx'
import { SaveReading } from './save-reading.tsx'
import {
  type AskedCircuit,
  type TypedReading,
  type WeighDraft,
  emptyDraft,
  isFilledIn,
  readDraft,
  weighDraftName,
} from './typed-reading.ts'
import './weigh-screen.css'
import { WeightTable } from './weight-table.tsx'
import { TimeField } from '#renderer/parts/time-field.tsx'

interface PressureFieldsProps {
  circuits: readonly AskedCircuit[]
  pressures: Readonly<Record<string, string>>
  onType: (key: string, text: string) => void
}

/** One field a circuit, in the order of the axles; in the unit in use unless another is typed with the number. */
function PressureFields({ circuits, pressures, onType }: PressureFieldsProps) {
  const { pressure, say } = useMeasures()
  return (
    <fieldset className="weigh-pressures">
      <legend>
        <Phrase
          text="Pressures, {pressureSymbol} <span>(or type another unit behind the number)</span>"
          with={{ pressureSymbol: pressure.symbol, span: (words) => <span className="quiet">{words}</span> }}
        />
      </legend>
      {circuits.map(({ key, unit, group, circuit, serial, absolute, rangePsi, typed }) => {
        const unlikely = ifValue(typed, (psi) => unlikelyPressure(psi, rangePsi, say))
        return (
          <div key={key} className="weigh-pressure">
            <label htmlFor={`psi-${key}`}>
              {unit} {group} <span className="quiet">{circuit}</span>
            </label>
            <TextInput
              id={`psi-${key}`}
              inputMode="decimal"
              autoComplete="off"
              value={pressures[key] ?? ''}
              error={typedProblem(typed)}
              errorProps={{ role: 'alert' }}
              description={unlikely && <UnlikelyNote text={unlikely} />}
              inputWrapperOrder={['label', 'input', 'description', 'error']}
              onChange={(event) => onType(key, event.currentTarget.value)}
            />
            <span className="quiet weigh-sensor">
              {serial === null ? phrase('no sensor') : `${serial}${absolute ? phrase(', absolute') : ''}`}
            </span>
          </div>
        )
      })}
    </fieldset>
  )
}

const liftWords = [
  { value: '', label: phrase('not recorded') },
  { value: 'none', label: phrase('none on the units') },
  { value: 'raised', label: phrase('raised') },
  { value: 'lowered', label: phrase('lowered') },
]

function Conditions({
  draft,
  typed,
  yardFt,
  namesDrivers,
  onChange,
}: {
  draft: WeighDraft
  typed: TypedReading | null
  yardFt: number | null
  namesDrivers: boolean
  onChange: (change: Partial<WeighDraft>) => void
}) {
  const { elevation, temperature } = useMeasures()
  const yard =
    yardFt === null
      ? phrase('needed for absolute sensors')
      : phrase('yard: {yardFt}', { yardFt: elevation.text(yardFt) })
  const field = (
    name: 'lift' | 'elevation' | 'takenAt' | 'temperature' | 'note' | 'driver' | 'lane',
    problem: string | null = null,
  ) => ({
    value: draft[name] ?? '',
    error: problem,
    errorProps: { role: 'alert' },
    onChange: ({ currentTarget }: ChangeEvent<HTMLInputElement | HTMLSelectElement>) =>
      onChange({ [name]: currentTarget.value }),
  })
  return (
    <div className="weigh-conditions">
      <NativeSelect label={phrase('Lift axles')} data={liftWords} {...field('lift')} />
      <TextInput
        label={phrase('Elevation, {elevationSymbol}', { elevationSymbol: elevation.symbol })}
        placeholder={typed?.needsElevation ? yard : phrase('not needed here')}
        inputMode="decimal"
        {...field('elevation', typed && typedProblem(typed.elevation))}
      />
      <TimeField
        label={phrase('Taken at')}
        placeholder={phrase('now')}
        description={phrase('empty: now')}
        {...field('takenAt', typed?.noTime)}
      />
      <TextInput
        label={phrase('Temperature, {temperatureSymbol}', { temperatureSymbol: temperature.symbol })}
        placeholder={phrase('if known')}
        inputMode="decimal"
        {...field('temperature', typed && typedProblem(typed.temperature))}
      />
      {namesDrivers && (
        <TextInput label={phrase('Driver')} placeholder={phrase('if known')} maxLength={200} {...field('driver')} />
      )}
      <TextInput label={phrase('Loading lane')} placeholder={phrase('if known')} maxLength={200} {...field('lane')} />
      <TextInput className="weigh-note" label={phrase('Note')} maxLength={2000} {...field('note')} />
    </div>
  )
}

/** What the typed pressures come to; worked out here in the window, by the code that weighs the record. */
function Outcome({ preview, typed, now }: { preview: WeighPreview; typed: TypedReading; now: number }) {
  const ready = useMemo(() => weigherOf(preview.facts).ready(preview.unitIds), [preview])
  const weights = weighReading(ready, typed.reading)
  return (
    <>
      <WeightTable
        ready={ready}
        weights={weights}
        trusts={preview.trusts}
        takenAt={typed.takenAt}
        lift={typed.lift}
        now={now}
      />
      <BridgeView ready={ready} weights={weights} lift={typed.lift} />
    </>
  )
}

/** Pick the units, type the pressures, and see at once what it weighs, how sure that is and how much more can go on. */
export function WeighScreen({ subject }: { subject: string | null }) {
  const kept = useDraft<WeighDraft>(weighDraftName, emptyDraft)
  // The unit that a link names is begun with, and is looked for with the chosen ones.
  const { picks, all, sought } = usePickUnits([...unitsOf(kept.value), ...(subject === null ? [] : [subject])])
  // What can stand together in only one way does so already.
  const draft = useMemo(
    () => (kept.typed || !all ? kept.value : { ...kept.value, ...onlyCombination(all) }),
    [kept.typed, kept.value, all],
  )
  const [saved, setSaved] = useState<SaveOutcome | null>(null)
  const [begun, setBegun] = useState<string | null>(null)
  const may = useMay()
  const namesDrivers = picks.data?.namesDrivers === true
  const isAnother = subject !== null && subject !== begun && !unitsOf(draft).includes(subject)
  // What is typed of other units is not lost to a link: it is saved or cleared first.
  const waitsFor = isAnother && isFilledIn(draft) ? subject : null
  // Until it is known what a link begins with, there are no fields: what is typed would be of the units before.
  const isToBegin = isAnother && waitsFor === null && !picks.isError
  const units = isToBegin ? [] : unitsOf(draft)
  const preview = useQuery(
    api.weigh.preview.queryOptions({ input: { units }, enabled: units.length > 0, placeholderData: keepPreviousData }),
  )
  const change = (part: Partial<WeighDraft>) => {
    setSaved(null)
    kept.set({ ...draft, ...part })
  }
  const shown = units.length > 0 && preview.data && !preview.isPlaceholderData ? preview.data : null
  const measures = useMeasures()
  const typed = useMemo(
    () => (shown ? readDraft(draft, shown, preview.dataUpdatedAt, measures) : null),
    [draft, shown, preview.dataUpdatedAt, measures],
  )

  // A link that names a unit begins with it, once, unless it is on the scale already.
  const begin = useEffectEvent((number: string, { units: all, usual }: PickUnits) => {
    const unit = all.find((each) => each.unit === number)
    if (!unit || units.includes(number)) return
    const together = usual.find((each) => each.unit === number)?.units ?? [number]
    kept.set({
      ...emptyDraft,
      lead: unit.kind === 'trailer' ? null : number,
      trailers: unit.kind === 'trailer' ? [number] : together.filter((each) => each !== number),
    })
  })
  const found = picks.isPlaceholderData ? undefined : picks.data
  useEffect(() => {
    if (subject === null || subject === begun || waitsFor !== null || !kept.known || !found) return
    begin(subject, found)
    setBegun(subject)
  }, [subject, begun, waitsFor, kept.known, found])

  return (
    <div className="weigh thumbs">
      <div className="weigh-typing">
        <ScreenTitle>{phrase('Weigh now')}</ScreenTitle>
        {waitsFor === null ? (
          <DraftNote draft={kept} />
        ) : (
          <Notice
            title={phrase('Typed for {units} and not saved yet', { units: units.join(' + ') })}
            ways={<Button onClick={kept.clear}>{phrase('Discard it and weigh {unit}', { unit: waitsFor })}</Button>}
          >
            <p>{phrase('Save it as a reading, and {unit} comes next.', { unit: waitsFor })}</p>
          </Notice>
        )}
        <Answer to={picks} waiting={phrase('Reading the units…')} failed={phrase('The units could not be read')}>
          {(found) => <CombinationPicker units={found} sought={sought} draft={draft} onPick={change} />}
        </Answer>
        {typed && (
          <PressureFields
            circuits={typed.circuits}
            pressures={draft.pressures}
            onType={(key, text) => change({ pressures: { ...draft.pressures, [key]: text } })}
          />
        )}
        {typed && typed.circuits.length === 0 && (
          <p className="weigh-missing">
            {phrase('No group of these units has a circuit on record, so no pressure can weigh them.')}
          </p>
        )}
        {shown && (
          <Conditions
            draft={draft}
            typed={typed}
            yardFt={shown.elevationFt}
            namesDrivers={namesDrivers}
            onChange={change}
          />
        )}
        <RightsNote about={phrase('To weigh only')} to="weigh.save" />
        {typed && typed.circuits.length > 0 && may('weigh.save') && (
          <SaveReading
            units={units}
            draft={draft}
            namesDrivers={namesDrivers}
            typed={typed}
            onSaved={(outcome) => {
              change({ pressures: {}, takenAt: '', note: '', driver: '', lane: '' })
              setSaved(outcome)
            }}
          />
        )}
        <output className="weigh-saved">
          {saved !== null && (
            <SavedNote outcome={saved}>
              {may('heavy.list') ? (
                <Phrase
                  text="Saved as reading {saved}. Over a limit, it stands in the <link>Heavy Log</link>."
                  with={{
                    saved: saved.kind === 'saved' && saved.reading,
                    link: (words) => <a href={hrefOf('heavy')}>{words}</a>,
                  }}
                />
              ) : (
                <Phrase text="Saved as reading {saved}." with={{ saved: saved.kind === 'saved' && saved.reading }} />
              )}
            </SavedNote>
          )}
        </output>
        {units.length > 0 && (
          <Button
            onClick={() => {
              setSaved(null)
              kept.clear()
            }}
          >
            {phrase('Clear')}
          </Button>
        )}
      </div>
      <div className="weigh-outcome">
        {units.length === 0 && !isToBegin && (
          <p className="weigh-none">
            {phrase('Choose the units that stand together. Their weights appear here while you type the pressures.')}
          </p>
        )}
        <Answer
          to={preview}
          waiting={phrase('Reading their lines…')}
          failed={phrase('This combination cannot be weighed')}
          way={<Button onClick={kept.clear}>{phrase('Clear')}</Button>}
        />
        {shown && typed && <Outcome preview={shown} typed={typed} now={preview.dataUpdatedAt} />}
        <NotForTrade />
      </div>
    </div>
  )
}
