import { Button, Checkbox, Select } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useMemo, useState } from 'react'
import type { RecordedEvidence } from '#core/contracts/weigh-in.ts'
import { type GroupHistory, isSensed } from '#core/evidence/history.ts'
import { judgeRecorded, recordedPoints } from '#core/findings/weigh-in.ts'
import { api, client } from '#renderer/client/api.ts'
import { usePickUnits } from '#renderer/client/pick-units.ts'
import { changeParams, go, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { UnitSelect } from '#renderer/parts/combination-picker.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { unknownText } from '#renderer/parts/record-text.ts'
import { useSaving } from '#renderer/parts/save-form.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { GroupOutcomeView } from './group-outcome.tsx'
import { factsOf } from './prepared-facts.ts'
import './weigh-in-screen.css'

interface PointListProps {
  evidence: RecordedEvidence
  history: GroupHistory
  chosen: readonly number[]
  onChoose: (readingId: number, on: boolean) => void
}

/** Every ticket with the group's weight and its pressures, newest first, each to be taken or left. */
function PointList({ evidence: { names, scales }, history, chosen, onChoose }: PointListProps) {
  const { weight, pressure, times } = useMeasures()
  const named = new Map(names.map((each) => [each.readingId, each]))
  const scaleNames = new Map(scales.map(({ scaleId, name }) => [scaleId, name]))
  return (
    <SheetTable
      frame="visit-rows"
      caption={phrase('Tickets on record of {unit} {group}, newest first', {
        unit: history.unit,
        group: history.group,
      })}
      rows={recordedPoints(history).map((point) => ({ ...point, known: named.get(point.readingId) }))}
      keyOf={({ readingId }) => readingId}
      columns={[
        [
          phrase('Take'),
          ({ readingId, known }) => (
            <Checkbox
              label={phrase('Ticket {ticket}', { ticket: known?.ticket ?? unknownText })}
              checked={chosen.includes(readingId)}
              onChange={(event) => onChoose(readingId, event.currentTarget.checked)}
            />
          ),
        ],
        [phrase('Taken'), ({ takenAt }) => times.moment(new Date(takenAt).toISOString()), 'nowrap'],
        [phrase('Scale'), ({ scaleId }) => (scaleId === null ? unknownText : scaleNames.get(scaleId))],
        [
          phrase('Reading'),
          ({ readingId, known }) => <a href={hrefOf('reading', String(readingId))}>{known?.reading ?? unknownText}</a>,
          'nowrap',
        ],
        [phrase('Lift axles'), ({ lift }) => (lift === null ? unknownText : word(lift))],
        ...history.circuits.map(
          ({ name }, place) =>
            [
              name,
              ({ psi }: { psi: readonly (number | null)[] }) =>
                psi[place] == null ? unknownText : pressure.text(psi[place]),
              'figure',
            ] as const,
        ),
        [phrase('Weight'), ({ weightLb }) => (weightLb === null ? unknownText : weight.text(weightLb)), 'figure'],
      ]}
    />
  )
}

interface ChoiceProps {
  evidence: RecordedEvidence
  /** When the evidence was read, ms UTC. */
  readAt: number
  history: GroupHistory
}

/** The points to choose, the line that they make, and the step that keeps it. What is chosen stands in the address. */
function Choice({ evidence, readAt, history }: ChoiceProps) {
  const { params } = useAddress()
  const [asked, setAsked] = useState(false)
  const onRecord = recordedPoints(history)
  const wanted = new Set((params.get('points') ?? '').split(','))
  const chosen = onRecord.flatMap(({ readingId }) => (wanted.has(String(readingId)) ? [readingId] : []))
  const key = chosen.join(',')
  const facts = useMemo(() => factsOf(evidence), [evidence])
  const outcome = useMemo(
    () => judgeRecorded(facts, history, key === '' ? [] : key.split(',').map(Number), readAt),
    [facts, history, key, readAt],
  )
  const { unit, group } = history
  const saving = useSaving(
    (readings: number[], by) => client.weighIn.calibrate({ unit, group, readings, by }),
    () => {
      go(hrefOf('unit', unit, { group }))
    },
  )
  const choose = (readings: readonly number[]) => {
    saving.reset()
    changeParams({ points: readings.join(',') || null }, { replace: true })
  }
  const submit = () => {
    setAsked(true)
    if (outcome.problem === null) void saving.send(chosen)
  }
  const ticketOf = new Map(
    evidence.names.map(({ readingId, ticket }) => [readingId, phrase('ticket {ticket}', { ticket })]),
  )
  // What is taken is judged in the order of time; the list has the newest first.
  const rowNames = chosen.toReversed().map((readingId) => ticketOf.get(readingId) ?? unknownText)
  if (onRecord.length === 0)
    return (
      <p className="sheet-none">
        <Phrase
          text="No ticket on record has a weight and a pressure of {unit} {group}. <link>Weigh it in.</link>"
          with={{ unit, group, link: (words) => <a href={hrefOf('weigh-in')}>{words}</a> }}
        />
      </p>
    )
  return (
    <>
      <PointList
        evidence={evidence}
        history={history}
        chosen={chosen}
        onChoose={(readingId, on) => choose(on ? [...chosen, readingId] : chosen.filter((each) => each !== readingId))}
      />
      <div className="flow visit-actions">
        <Button variant="filled" loading={saving.isPending} onClick={submit}>
          {phrase('Calibrate {unit} {group}', { unit, group })}
        </Button>
        <Button onClick={() => choose(onRecord.map(({ readingId }) => readingId))}>{phrase('Take all')}</Button>
        <Button onClick={() => choose([])}>{phrase('Take none')}</Button>
      </div>
      {saving.error && <ProblemNotice title={phrase('The calibration was not saved')} error={saving.error} />}
      <div className="visit-groups">
        <GroupOutcomeView
          outcome={asked || chosen.length > 0 ? outcome : { ...outcome, problem: null }}
          rowNames={rowNames}
        />
      </div>
    </>
  )
}

/** A calibration made of tickets and readings that are on record already, as after a void. */
export function RecordedScreen({ subject: unit }: { subject: string | null }) {
  const { params } = useAddress()
  const { picks, sought } = usePickUnits(unit === null ? [] : [unit])
  const evidence = useQuery(api.weighIn.recorded.queryOptions({ input: { unit: unit ?? '' }, enabled: unit !== null }))
  const groups = evidence.data?.histories.filter(isSensed) ?? []
  const history = groups.find(({ group }) => group === params.get('group')) ?? groups[0]
  return (
    <div className="page stack">
      <ScreenTitle tab={phrase('Calibrate from the record · Scale House')}>
        {phrase('Calibrate from the record')}
      </ScreenTitle>
      <p className="quiet visit-words">
        {phrase(
          'Takes tickets and readings that are stored already. The line stands below while they are chosen; what is not taken stays a check weighing.',
        )}
      </p>
      <Answer to={picks} waiting={phrase('Reading the units…')} failed={phrase('The units could not be read')} />
      <div className="visit-head">
        <UnitSelect
          label={phrase('Unit')}
          placeholder={phrase('Type a unit number')}
          allowDeselect={false}
          data={(picks.data?.units ?? []).filter(({ sensed }) => sensed > 0).map((each) => each.unit)}
          value={unit}
          onSearchChange={(text) => sought.search(text === unit ? '' : text)}
          onChange={(next) => next !== null && go(hrefOf('calibrate', next))}
        />
        <Select
          label={phrase('Group')}
          allowDeselect={false}
          data={groups.map(({ group }) => group)}
          value={history?.group ?? null}
          onChange={(group) => changeParams({ group, points: null })}
        />
      </div>
      {unit === null && <p className="quiet">{phrase('Choose the unit.')}</p>}
      <Answer
        to={evidence}
        waiting={phrase('Reading the record…')}
        failed={phrase('This unit cannot be calibrated')}
        way={<Button onClick={() => go(hrefOf('calibrate'))}>{phrase('Choose another unit')}</Button>}
      />
      {evidence.data && !history && (
        <p className="sheet-none">{phrase('{unit} has no group with a circuit.', { unit })}</p>
      )}
      {evidence.data && history && (
        <Choice key={history.groupId} evidence={evidence.data} readAt={evidence.dataUpdatedAt} history={history} />
      )}
    </div>
  )
}
