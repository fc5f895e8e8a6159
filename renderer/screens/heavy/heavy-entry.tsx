import { expanded } from '#core/words/coverage.ts'
import { Button, Textarea } from '@mantine/core'
import type { KeyboardEvent, RefObject } from 'react'
import type { HeavyEntry, HeavySummary } from '#core/contracts/heavy.ts'
import type { HeavySource, LimitKind } from '#core/weight/heavy.ts'
import { sayThenNow } from '#core/words/sentences/look-back.ts'
import { aheadWords } from '#core/words/sentences/ahead.ts'
import { sayTwoWeights } from '#core/words/sentences/two-weights.ts'
import { client } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { useDraft } from '#renderer/parts/draft.ts'
import { Facts } from '#renderer/parts/facts.tsx'
import { chance, useMeasures, useSay } from '#renderer/parts/format.ts'
import { IntervalBar } from '#renderer/parts/interval-bar.tsx'
import { LinkButton, UnitLinks } from '#renderer/parts/links.tsx'
import { VerdictMark } from '#renderer/parts/marks.tsx'
import { DraftNote, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { sentenceCase } from '#renderer/parts/record-text.ts'
import { isConflict, useSaving } from '#renderer/parts/save-form.tsx'
import { word } from '#core/words/listed-words.ts'
import { useMay } from '#renderer/parts/rights.ts'
import { OthersHere } from '#renderer/parts/others-here.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

export const kindWords: Record<LimitKind, string> = {
  group: phrase('Axle groups'),
  gross: phrase('Gross'),
  bridge: phrase('Bridge formula'),
}
export const sourceWords: Record<HeavySource, string> = { ticket: phrase('ticket'), onboard: phrase('onboard') }

/** What the limit is of, in a few words: `T-101 drive`, `gross`, `axles 2 to 5`. */
export function limitOf({ kind, unit, group, set }: HeavyEntry): string {
  if (set) return phrase('axles {firstAxle} to {lastAxle}', { firstAxle: set.firstAxle, lastAxle: set.lastAxle })
  return kind === 'gross' ? phrase('gross') : `${unit} ${group ?? ''}`
}

/** A kind of limit as the counts tell it apart. */
export const limitName = ({ kind, role }: HeavySummary['byLimit'][number]): string =>
  kind === 'group'
    ? phrase('{role} axles', { role: role ?? 'other' })
    : kind === 'gross'
      ? phrase('gross')
      : phrase('bridge formula')

/** The record that was weighed, the same for every limit that it broke. */
const recordKey = ({ noteOn, reading, scale, ticket }: HeavyEntry): string =>
  noteOn === 'reading' ? `reading ${reading}` : `ticket ${ticket} of ${scale}`

/** Tells one row of the log from every other, also after the weights were made anew. */
export const entryKey = (entry: HeavyEntry): string =>
  [entry.source, entry.reading, entry.scale, entry.ticket, entry.unit, entry.kind, entry.group].join('|')

/** The log of one unit, yard or limit, with everything else as it is. */
export const logHref = (params: URLSearchParams, change: Record<string, string>): string =>
  hrefOf('heavy', null, { ...Object.fromEntries(params), part: null, ...change })

const mostLetters = 2000

interface TypedNote {
  readonly text: string
  /** The note that stood there when typing began. */
  readonly was: string | null
}

/** Another window has saved a note since this one was begun: neither is lost. */
function Meanwhile({ stored, onKeep, onTake }: { stored: string | null; onKeep: () => void; onTake: () => void }) {
  return (
    <div className="heavy-meanwhile" role="alert">
      <p>
        {stored === null
          ? phrase('The note was taken away meanwhile.')
          : phrase('Meanwhile this was saved: “{stored}”', { stored })}
      </p>
      <LinkButton onClick={onKeep}>{phrase('Keep mine instead')}</LinkButton>
      <LinkButton onClick={onTake}>{phrase('Discard mine')}</LinkButton>
    </div>
  )
}

/** What the driver says about a weighing; it stands with the ticket or the reading, for every limit that it broke. */
function DriverNote({
  entry,
  field,
  onLeave,
}: {
  entry: HeavyEntry
  field: RefObject<HTMLTextAreaElement | null>
  onLeave: () => void
}) {
  const { note: stored, noteOn, reading, scale, ticket } = entry
  const draftName = `heavy-note ${recordKey(entry)}`
  const draft = useDraft<TypedNote>(draftName, { text: stored ?? '', was: stored })
  const { text, was } = draft.value
  const record =
    noteOn === 'reading' ? { reading: reading as string } : { scale: scale as string, ticket: ticket as string }
  const save = useSaving(
    (note: string, by) => client.heavy.note({ record, was, note, by }),
    () => {
      draft.clear()
      onLeave()
    },
  )
  const changed = draft.typed && text.trim() !== (stored ?? '')
  const overtaken = changed && was !== stored && !save.isPending
  const letters = text.trim().length
  const refused =
    letters > mostLetters
      ? phrase('The note has {letters} letters; {mostLetters} at most are kept.', { letters, mostLetters })
      : null
  const submit = () => {
    if (changed && !overtaken && refused === null && !save.isPending) void save.send(text.trim())
  }
  const onKeyDown = (event: KeyboardEvent) => {
    if (event.key === 'Escape') onLeave()
    else if (event.key === 'Enter' && (event.ctrlKey || event.metaKey)) submit()
    else return
    event.preventDefault()
  }
  return (
    <form
      className="heavy-note"
      onSubmit={(event) => {
        event.preventDefault()
        submit()
      }}
      noValidate
    >
      <OthersHere form={draftName} />
      <DraftNote draft={draft} />
      <Textarea
        ref={field}
        label={phrase('Driver’s note')}
        description={phrase('Enter in the list comes here, Ctrl Enter saves, Esc goes back')}
        maxRows={6}
        value={text}
        error={refused}
        errorProps={{ role: 'alert' }}
        onChange={(event) => draft.set({ text: event.currentTarget.value, was: draft.typed ? was : stored })}
        onKeyDown={onKeyDown}
      />
      {overtaken ? (
        <Meanwhile stored={stored} onKeep={() => draft.set({ text, was: stored })} onTake={draft.clear} />
      ) : (
        changed && (
          <div className="heavy-note-actions">
            <Button variant="filled" type="submit" loading={save.isPending}>
              {phrase('Save note')}
            </Button>
            <LinkButton onClick={draft.clear}>{phrase('Undo')}</LinkButton>
          </div>
        )
      )}
      {save.error && !isConflict(save.error) && (
        <ProblemNotice title={phrase('The note was not saved')} error={save.error} />
      )}
    </form>
  )
}

/** Far enough that a small miss and a large one look different, lb. */
const leastReachLb = 1000

/** The record of a weight: its ticket, or its reading. */
export const recordHref = ({ source, ticketId, readingId }: HeavyEntry): string =>
  source === 'ticket' ? hrefOf('ticket', String(ticketId)) : hrefOf('reading', String(readingId))

/** Where the line of an onboard weight is drawn. */
export const lineHref = ({ unit, group }: HeavyEntry): string => hrefOf('unit', unit, { group })

function RecordWords({ entry }: { entry: HeavyEntry }) {
  const { source, scale, ticket, ticketId, reading, superseded } = entry
  const ofScale = scale === null ? '' : `, ${scale}`
  if (source === 'ticket')
    return (
      <>
        <a href={recordHref(entry)}>{phrase('Ticket {ticket}', { ticket })}</a>
        {ofScale}
      </>
    )
  return (
    <>
      <Phrase
        text="Onboard, <link>reading {reading}</link>"
        with={{ link: (words) => <a href={recordHref(entry)}>{words}</a>, reading }}
      />
      {ticketId !== null && (
        <>
          {' '}
          <Phrase
            text="of <link>ticket {ticket}</link>{ofScale}"
            with={{ link: (words) => <a href={hrefOf('ticket', String(ticketId))}>{words}</a>, ticket, ofScale }}
          />
        </>
      )}
      {superseded && phrase('; that ticket weighed the same and decides')}
    </>
  )
}

/** The line that an onboard weight was read from; of a gross or a set of axles, those of all units. */
function LineWords({ entry }: { entry: HeavyEntry }) {
  const { kind, unit, group, units } = entry
  if (kind === 'group' && group !== null)
    return (
      <a href={lineHref(entry)}>
        {unit} {group}
      </a>
    )
  return (
    <>
      {phrase('those of')} <UnitLinks units={units} between={phrase(' and ')} />
    </>
  )
}

function EntryFacts({ entry }: { entry: HeavyEntry }) {
  const { weight, length, times } = useMeasures()
  const say = useSay()
  const {
    source,
    driver,
    lane,
    units,
    yard,
    weighedAt,
    ahead,
    weightLb,
    uLb,
    limitLb,
    set,
    pOver,
    byLine,
    provisionalWhy,
    verdict,
    lookBack,
  } = entry
  const two = sayTwoWeights(entry, byLine, say)
  return (
    <Facts
      as="lines"
      facts={[
        [
          phrase('Weighed'),
          <>
            {times.moment(weighedAt)}
            {ahead && <div className="quiet">{aheadWords()}</div>}
          </>,
        ],
        [phrase('By'), <RecordWords key="by" entry={entry} />],
        ...(source === 'onboard' ? [[phrase('Line'), <LineWords key="line" entry={entry} />] as const] : []),
        ...(driver === null ? [] : [[phrase('Driver'), driver] as const]),
        ...(lane === null ? [] : [[phrase('Loading lane'), lane] as const]),
        [
          phrase('Units'),
          <>
            <UnitLinks units={units} between=" + " />
            {yard !== null && <span className="quiet">, {yard}</span>}
          </>,
        ],
        [
          phrase('Weight'),
          <>
            {weight.estimate(weightLb)} {weight.plusMinusFigure(uLb)} <span className="quiet">(95 %)</span>
            {two && byLine && (
              <div>
                {two}
                {byLine.verdict !== verdict && (
                  <span className="quiet">
                    {' '}
                    {phrase('(the line says {verdict})', { verdict: word(byLine.verdict) })}
                  </span>
                )}
              </div>
            )}
            {provisionalWhy !== null && <div className="quiet">{provisionalWhy}</div>}
          </>,
        ],
        ...(lookBack
          ? [
              [
                phrase('Look-back'),
                <>
                  {sentenceCase(sayThenNow(lookBack.verdict, verdict))}
                  {lookBack.weightLb !== null &&
                    phrase('; {weightLb} was said', { weightLb: weight.estimate(lookBack.weightLb) })}
                  . <span className="quiet">{lookBack.because}</span>
                </>,
              ] as const,
            ]
          : []),
        [
          phrase('Limit'),
          <>
            {weight.text(limitLb)}{' '}
            <span className="quiet">
              {limitOf(entry)}
              {set && phrase(', {lengthFt} between the outer ones', { lengthFt: length.text(set.lengthFt) })}
            </span>
            {set !== null && set.more > 0 && (
              <div className="quiet">
                {phrase('{more, plural, one {# more set is as bad} other {# more sets are as bad}}', {
                  more: set.more,
                })}
              </div>
            )}
          </>,
        ],
        [
          phrase('Chance'),
          <>
            {chance(pOver)} <span className="quiet">{phrase('that it is over the limit')}</span>
          </>,
        ],
      ]}
    />
  )
}

/** One heavy weight in full, with the driver's note to be written. */
export function HeavyEntryPanel({
  entry,
  noteField,
  onLeaveNote,
}: {
  entry: HeavyEntry
  noteField: RefObject<HTMLTextAreaElement | null>
  onLeaveNote: () => void
}) {
  const may = useMay()
  const { weight } = useMeasures()
  const { overLb, uLb, verdict } = entry
  const reach = 1.08 * Math.max(leastReachLb, Math.abs(overLb) + expanded(uLb))
  const difference = `${weight.difference(overLb)} ${weight.plusMinus(uLb)}`
  return (
    <>
      <h2 className="heavy-verdict">
        <VerdictMark verdict={verdict} />
      </h2>
      <p className="heavy-by">
        <Phrase
          text="{overLb} the limit by <strong>{overLb2}</strong> {uLb} <span>(95 %)</span>"
          with={{
            overLb: overLb >= 0 ? phrase('Over') : phrase('Under'),
            strong: (words) => <strong>{words}</strong>,
            overLb2: weight.estimate(Math.abs(overLb)),
            uLb: weight.plusMinusFigure(uLb),
            span: (words) => <span className="quiet">{words}</span>,
          }}
        />
      </p>
      <IntervalBar
        value={overLb}
        u={uLb}
        tolerance={0}
        reach={reach}
        label={phrase('Against the limit: {difference}', { difference })}
      />
      <p className="heavy-axis" aria-hidden="true">
        <span>{weight.difference(-reach)}</span>
        <span>{phrase('limit')}</span>
        <span>{weight.difference(reach)}</span>
      </p>
      <EntryFacts entry={entry} />
      {may('heavy.note') ? (
        <DriverNote key={recordKey(entry)} entry={entry} field={noteField} onLeave={onLeaveNote} />
      ) : (
        entry.note !== null && <p>{phrase('Driver’s note: {note}', { note: entry.note })}</p>
      )}
      <NotForTrade />
      <p className="quiet heavy-limits">
        <Phrase
          text="The limit recorded with the unit or group counts; where none is, the one of the <link>House Rules</link>, which a permit, a state or a maker’s rating may replace."
          with={{ link: (words) => <a href={hrefOf('house-rules', null, { text: 'limit' })}>{words}</a> }}
        />
      </p>
    </>
  )
}
