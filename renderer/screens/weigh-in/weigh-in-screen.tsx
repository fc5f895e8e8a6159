/*
 * Not on the kit of forms, which holds a fixed set of texts and checks each when it is left: here rows are added, their
 * fields follow from the units that are chosen, and every keystroke is read, judged and drawn as a line.
 */
import { Button, Checkbox } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { type SubmitEvent, useMemo, useState } from 'react'
import type { PreparedWeighIn, SaveWeighInInput } from '#core/contracts/weigh-in.ts'
import { judgeWeighIn } from '#core/findings/weigh-in.ts'
import { api, client } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { CabCards } from '#renderer/parts/cab-cards.tsx'
import type { Draft } from '#renderer/parts/draft.ts'
import { NextStepLine } from '#renderer/parts/first-weight.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { UnitLinks } from '#renderer/parts/links.tsx'
import { SeverityMark } from '#renderer/parts/marks.tsx'
import { DraftNote, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useMay } from '#renderer/parts/rights.ts'
import { RightsNote } from '#renderer/parts/rights-note.tsx'
import { useSaving } from '#renderer/parts/save-form.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { GroupOutcomeView, exampleOf } from './group-outcome.tsx'
import { OnePlatform } from './one-platform.tsx'
import { factsOf } from './prepared-facts.ts'
import {
  type RowDraft,
  type VisitDraft,
  asInput,
  emptyRow,
  emptyVisit,
  offeredTime,
  pairColumns,
  readRows,
  saveWords,
  savedWords,
  toCalibrate,
  visitProblem,
  weightColumns,
} from './visit-draft.ts'
import { VisitChoice, VisitWait, useVisitStart } from './visit-start.tsx'
import { VisitRows } from './visit-rows.tsx'
import './weigh-in-screen.css'

interface VisitProps {
  prepared: PreparedWeighIn
  preparedAt: number
  draft: Draft<VisitDraft>
  visit: VisitDraft
  namesDrivers: boolean
  onSaved: (said: string, calibrations: number) => void
}

/** The rows, what they make of each group while they are typed, and the one step that keeps it all. */
function Visit({ prepared, preparedAt, draft, visit, namesDrivers, onSaved }: VisitProps) {
  const [asked, setAsked] = useState(false)
  const facts = useMemo(() => factsOf(prepared), [prepared])
  const measures = useMeasures()
  const rows = useMemo(() => readRows(visit, prepared, measures), [visit, prepared, measures])
  const mayCalibrate = useMay()('weighIn.calibrate')
  const able = mayCalibrate ? toCalibrate(prepared.histories, rows, { ...visit, checksOnly: [] }) : []
  const calibrate = mayCalibrate ? toCalibrate(prepared.histories, rows, visit) : []
  const typed = rows.flatMap(({ row }, place) => (row ? [{ row, place }] : []))
  const asOf = Math.max(preparedAt, ...typed.map(({ row }) => row.weighedAt))
  const outcome = judgeWeighIn(
    facts,
    typed.map(({ row }) => row),
    new Set(calibrate),
    asOf,
  )
  useHelpExample(exampleOf(outcome.groups, measures))
  const findings = rows.map((_, place) => outcome.tickets[typed.findIndex((each) => each.place === place)] ?? [])
  const problem = visitProblem(visit, rows)
  const save = useSaving(
    (at: Omit<SaveWeighInInput, 'by'>, by) => client.weighIn.save({ ...at, by }),
    ({ calibrations }, at) => {
      draft.clear()
      onSaved(savedWords(at, calibrations), calibrations)
    },
  )
  const change = (place: number, part: Partial<RowDraft>) =>
    draft.set({
      ...visit,
      rows: visit.rows.map((row, i) => {
        if (i !== place) return row
        const at = row.at === '' && part.at === undefined ? offeredTime(visit.rows[place - 1], measures.times) : row.at
        return { ...row, at, ...part }
      }),
    })
  const keepAsChecks = (groupId: number, on: boolean) =>
    draft.set({
      ...visit,
      checksOnly: on ? [...visit.checksOnly, groupId] : visit.checksOnly.filter((id) => id !== groupId),
    })
  const submit = (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    setAsked(true)
    if (problem !== null) return
    const { zone: localZone } = measures.times
    void save.send(asInput(visit, rows, prepared, calibrate, { localZone, namesDrivers }))
  }
  return (
    <form onSubmit={submit} noValidate>
      <OnePlatform
        pairs={pairColumns(prepared)}
        chosen={visit.together ?? []}
        onChoose={(together) => draft.set({ ...visit, together })}
      />
      <VisitRows
        prepared={prepared}
        rows={rows}
        weighed={weightColumns(prepared, visit)}
        findings={findings}
        onChange={change}
      />
      <div className="flow visit-actions">
        <Button variant="filled" type="submit" loading={save.isPending}>
          {saveWords(rows, calibrate.length)}
        </Button>
        <Button onClick={() => draft.set({ ...visit, rows: [...visit.rows, emptyRow] })}>{phrase('Add a row')}</Button>
        {asked && problem !== null && (
          <p role="alert" className="visit-problem">
            {problem}
          </p>
        )}
      </div>
      {save.error && <ProblemNotice title={phrase('The visit was not saved')} error={save.error} />}
      <div className="visit-groups">
        {outcome.groups.map((group) => (
          <GroupOutcomeView
            key={group.history.groupId}
            outcome={group}
            rowNames={typed.map(({ place }) => phrase('row {place}', { place: place + 1 }))}
          >
            {able.includes(group.history.groupId) ? (
              <Checkbox
                label={phrase('Calibrate it with these rows')}
                checked={calibrate.includes(group.history.groupId)}
                onChange={(event) => keepAsChecks(group.history.groupId, !event.currentTarget.checked)}
              />
            ) : (
              <p className="quiet">
                {phrase('Two rows with its weight and pressure make a line; until then they check the one in use.')}
              </p>
            )}
          </GroupOutcomeView>
        ))}
      </div>
    </form>
  )
}

interface Saved {
  readonly said: string
  readonly units: readonly string[]
  readonly lead: string | null
  /** Whether lines were made, which new cab cards tell of. */
  readonly calibrated: boolean
}

/**
 * The visit to the scale: units, scale, then ticket by ticket with the pressures; lines are made of all groups at once.
 */
export function WeighInScreen() {
  const start = useVisitStart('weigh-in', emptyVisit)
  const { draft, picks, scales, visit, units, prepared, ready } = start
  const [saved, setSaved] = useState<Saved | null>(null)
  const steps = useQuery(api.fleet.firstSteps.queryOptions())
  // What is found of the scale is said where somebody is about to calibrate on it.
  const ofScale = scales.data?.scales.find(({ scale }) => scale === visit.scale)?.finding
  return (
    <div className="page stack">
      <ScreenTitle tab={phrase('Weigh-in · Scale House')}>{phrase('Weigh-in')}</ScreenTitle>
      <p className="quiet visit-words">
        {phrase(
          'One visit to the certified scale: empty, part loaded, loaded. Note the pressures while the unit stands on the scale, brakes released; a row of pressures alone is kept as a reading. Numbers may carry a unit: 5.6 bar, 15400 kg.',
        )}
      </p>
      <RightsNote about={phrase('Calibrations')} to="weighIn.calibrate" />
      <NextStepLine found={steps.data} here="weigh-in" />
      <DraftNote draft={draft} />
      <VisitChoice
        of={start}
        onChange={(change) => {
          if (!('scale' in change || 'driver' in change || 'lane' in change)) setSaved(null)
          draft.set({ ...visit, ...change })
        }}
      />
      {ofScale && (
        <p role="note">
          <SeverityMark severity="warn" /> {ofScale.message} {ofScale.nextStep}
        </p>
      )}
      {steps.data && !steps.data.scale && (
        <p className="visit-problem">
          <Phrase
            text="Tickets need the scale that they come from. <link>Add the scale</link>"
            with={{ link: (words) => <a href={hrefOf('fleet', null, { add: 'scale' })}>{words}</a> }}
          />
        </p>
      )}
      <output className="visit-saved">
        {saved !== null && (
          <>
            {phrase('{said} See', { said: saved.said })} <UnitLinks units={saved.units} between={phrase(' and ')} />
            {saved.lead !== null && (
              <Phrase
                text=", or <link>weigh it now</link>"
                with={{ link: (words) => <a href={hrefOf('weigh', saved.lead)}>{words}</a> }}
              />
            )}
            .
            {saved.calibrated && (
              <CabCards
                total={saved.units.length}
                label={phrase('Cab cards')}
                make={() => client.cabCard.make({ units: [...saved.units] })}
              />
            )}
          </>
        )}
      </output>
      <VisitWait of={start} />
      {ready && (
        <Visit
          prepared={ready}
          preparedAt={prepared.dataUpdatedAt}
          draft={draft}
          visit={visit}
          namesDrivers={picks.data?.namesDrivers === true}
          onSaved={(said, calibrations) =>
            setSaved({ said, units, lead: units[0] ?? null, calibrated: calibrations > 0 })
          }
        />
      )}
    </div>
  )
}
