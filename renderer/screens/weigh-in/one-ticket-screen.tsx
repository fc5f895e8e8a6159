/*
 * Not on the kit of forms, for the reasons of the Weigh-in: the fields follow from the units that are chosen, and every
 * keystroke is read and judged.
 */
import { Button, NativeSelect, TextInput } from '@mantine/core'
import { type SubmitEvent, useMemo, useState } from 'react'
import type { PreparedWeighIn, SaveWeighInInput } from '#core/contracts/weigh-in.ts'
import { judgeWeighIn } from '#core/findings/weigh-in.ts'
import { phrase } from '#core/words/phrase.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'
import { unlikelyPressure, unlikelyWeight } from '#core/words/sentences/unlikely.ts'
import { type SaveOutcome, save as saveOnce } from '#renderer/client/outbox.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { type Typed, ifValue, useMeasures } from '#renderer/parts/format.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { DraftNote, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { SavedNote } from '#renderer/parts/saved-note.tsx'
import { useSaving } from '#renderer/parts/save-form.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { TimeField } from '#renderer/parts/time-field.tsx'
import { FigureField } from './figure-field.tsx'
import { factsOf } from './prepared-facts.ts'
import { TicketPhotosPart, useTicketPhotos } from './ticket-photos.tsx'
import {
  type ReadRow,
  type RowDraft,
  type VisitDraft,
  asInput,
  emptyRow,
  emptyVisit,
  hasLiftAxle,
  liftChoices,
  readRows,
  visitProblem,
  weightColumns,
} from './visit-draft.ts'
import { VisitChoice, VisitWait, useVisitStart } from './visit-start.tsx'
import './weigh-in-screen.css'
import './one-ticket-screen.css'

/** Under which what is typed is kept. */
const draftName = 'one-ticket'
const emptyTicket: VisitDraft = { ...emptyVisit, rows: [emptyRow] }

interface TicketProps {
  prepared: PreparedWeighIn
  visit: VisitDraft
  read: ReadRow
  onChange: (change: Partial<RowDraft>) => void
}

/** What stands on the ticket and on the gauges, one below the other, each as large as a thumb. */
function TicketFields({ prepared, visit, read: { draft, gross, weights, psi, noTime }, onChange }: TicketProps) {
  const { weight, pressure, say } = useMeasures()
  const { histories } = prepared
  const circuits = histories.flatMap(({ unit, group, circuits: own }) =>
    own.map((circuit) => ({ ...circuit, unit, group, rangePsi: circuit.mounts.at(-1)?.rangePsi ?? null })),
  )
  return (
    <>
      <div className="ticket-fields">
        <TextInput
          label={phrase('Ticket number')}
          autoComplete="off"
          value={draft.ticket}
          onChange={(event) => onChange({ ticket: event.currentTarget.value })}
        />
        <TimeField
          label={phrase('Weighed at')}
          placeholder={phrase('now')}
          description={phrase('empty: now')}
          value={draft.at}
          error={noTime}
          onChange={(event) => onChange({ at: event.currentTarget.value })}
        />
        {weightColumns(prepared, visit).map(({ key, unit, group }) => (
          <FigureField
            key={key}
            label={`${unit} ${group}, ${weight.symbol}`}
            value={draft.weights[key] ?? ''}
            typed={weights.get(key) as Typed}
            unlikely={ifValue(weights.get(key), (lb) => unlikelyWeight(lb, say))}
            onType={(text) => onChange({ weights: { ...draft.weights, [key]: text } })}
          />
        ))}
        <FigureField
          label={phrase('Gross, {unit}', { unit: weight.symbol })}
          value={draft.gross}
          typed={gross}
          onType={(text) => onChange({ gross: text })}
        />
      </div>
      {circuits.length > 0 && (
        <fieldset className="ticket-fields">
          <legend>
            <Phrase
              text="Pressures, {unit} <span>(while it stands on the scale, brakes released)</span>"
              with={{ unit: pressure.symbol, span: (words) => <span className="quiet ticket-why">{words}</span> }}
            />
          </legend>
          {circuits.map(({ circuitId, unit, group, name, rangePsi }) => (
            <FigureField
              key={circuitId}
              label={`${unit} ${group} ${name}`}
              value={draft.psi[circuitId] ?? ''}
              typed={psi.get(circuitId) as Typed}
              unlikely={ifValue(psi.get(circuitId), (value) => unlikelyPressure(value, rangePsi, say))}
              onType={(text) => onChange({ psi: { ...draft.psi, [circuitId]: text } })}
            />
          ))}
          {hasLiftAxle(prepared) && (
            <NativeSelect
              label={phrase('Lift axles')}
              data={liftChoices}
              value={draft.lift}
              onChange={(event) => onChange({ lift: event.currentTarget.value })}
            />
          )}
        </fieldset>
      )}
    </>
  )
}

interface TicketFormProps extends Pick<TicketProps, 'prepared' | 'visit'> {
  preparedAt: number
  namesDrivers: boolean
  set: (visit: VisitDraft) => void
  onSaved: (outcome: SaveOutcome, ticket: string) => void
}

function TicketForm({ prepared, preparedAt, visit, namesDrivers, set, onSaved }: TicketFormProps) {
  const [asked, setAsked] = useState(false)
  const measures = useMeasures()
  const say = measures.say
  const photos = useTicketPhotos(draftName)
  const facts = useMemo(() => factsOf(prepared), [prepared])
  // A ticket that is being typed is of now, until its time is typed.
  const timed = (at: number): VisitDraft => ({
    ...visit,
    rows: visit.rows.map((row) =>
      row.at === '' ? { ...row, at: measures.times.typed(new Date(at).toISOString()) } : row,
    ),
  })
  const rows = readRows(timed(preparedAt), prepared, measures)
  const [first] = readRows(visit, prepared, measures)
  const [row] = rows
  const typed = row?.row ? [row.row] : []
  const [findings = []] = judgeWeighIn(
    facts,
    typed,
    new Set(),
    Math.max(preparedAt, ...typed.map(({ weighedAt }) => weighedAt)),
  ).tickets
  const problem =
    first?.noTime ??
    visitProblem(visit, rows, () => phrase('The ticket')) ??
    (photos.photos.length > 0 && row?.typed !== 'ticket'
      ? phrase('A photo is kept with its ticket: type the ticket’s number and a weight.')
      : null)
  const save = useSaving(
    (input: Omit<SaveWeighInInput, 'by' | 'sent'>, by) =>
      saveOnce({
        person: by,
        byClock: visit.rows[0]?.at === '',
        words: input.tickets[0]
          ? phrase('Ticket {ticket}, {units}', { ticket: input.tickets[0].ticket, units: input.units.join(' + ') })
          : input.units.join(' + '),
        call: { procedure: 'weighIn.save', input: { ...input, by } },
        photos: photos.photos,
        form: { screen: 'one-ticket', draft: draftName, text: JSON.stringify(timed(Date.now())) },
      }),
    (outcome, { tickets }) => {
      setAsked(false)
      photos.clear()
      set({ ...visit, rows: [emptyRow] })
      onSaved(outcome, tickets[0]?.ticket ?? '')
    },
  )
  const submit = (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    setAsked(true)
    if (problem !== null || photos.isBusy) return
    const now = timed(Date.now())
    void save.send(
      asInput(now, readRows(now, prepared, measures), prepared, [], { localZone: measures.times.zone, namesDrivers }),
    )
  }
  return (
    <form className="stack" onSubmit={submit} noValidate>
      {first && (
        <TicketFields
          prepared={prepared}
          visit={visit}
          read={first}
          onChange={(change) => set({ ...visit, rows: visit.rows.map((each) => ({ ...each, ...change })) })}
        />
      )}
      <TicketPhotosPart photos={photos} />
      {findings.map((finding) => (
        <p key={finding.code} className="visit-problem">
          {sayFinding(finding, say).message}
        </p>
      ))}
      {asked && problem !== null && (
        <p role="alert" className="visit-problem">
          {problem}
        </p>
      )}
      {save.error && <ProblemNotice title={phrase('The ticket was not saved')} error={save.error} />}
      <Button variant="filled" type="submit" loading={save.isPending}>
        {phrase('Save the ticket')}
      </Button>
    </form>
  )
}

/** One ticket of now with its photo and the pressures, as a driver has it in hand at the scale. */
export function OneTicketScreen() {
  const start = useVisitStart(draftName, emptyTicket)
  const { draft, picks, visit, prepared, ready } = start
  const [saved, setSaved] = useState<{ readonly outcome: SaveOutcome; readonly ticket: string } | null>(null)
  const set = (next: VisitDraft) => {
    setSaved(null)
    draft.set(next)
  }
  const ticketId = saved?.outcome.kind === 'saved' ? saved.outcome.ticketId : null
  return (
    <div className="page stack thumbs one-ticket">
      <ScreenTitle tab={phrase('One ticket · Scale House')}>{phrase('One ticket')}</ScreenTitle>
      <DraftNote draft={draft} />
      <output>
        {saved && (
          <SavedNote outcome={saved.outcome}>
            {ticketId === null ? (
              phrase('The reading is in the record.')
            ) : (
              <Phrase
                text="<link>Ticket {ticket}</link> is in the record, with its photos."
                with={{
                  ticket: saved.ticket,
                  link: (words) => <a href={hrefOf('ticket', String(ticketId))}>{words}</a>,
                }}
              />
            )}
          </SavedNote>
        )}
      </output>
      <VisitChoice of={start} onChange={(change) => set({ ...visit, ...change })} />
      <VisitWait of={start} />
      {ready && (
        <TicketForm
          prepared={ready}
          preparedAt={prepared.dataUpdatedAt}
          visit={visit}
          namesDrivers={picks.data?.namesDrivers === true}
          set={draft.set}
          onSaved={(outcome, ticket) => setSaved({ outcome, ticket })}
        />
      )}
    </div>
  )
}
