import { Button } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useMemo, useRef, useState } from 'react'
import type { Corrected, EvidenceView } from '#core/contracts/evidence.ts'
import type { StoredValue } from '#core/words/change.ts'
import { type EvidenceKind, type RecordField, partColumn } from '#core/words/record-fields.ts'
import { api } from '#renderer/client/api.ts'
import { changeParams, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { type Measures, useMeasures } from '#renderer/parts/format.ts'
import { SeverityMark } from '#renderer/parts/marks.tsx'
import { fixHref, fixIn, fixTexts, fixWords } from '#renderer/parts/offered-fix.ts'
import { Notice } from '#renderer/parts/problem-notice.tsx'
import { unknownText } from '#renderer/parts/record-text.ts'
import type { Texts } from '#renderer/parts/save-form.tsx'
import { useMay } from '#renderer/parts/rights.ts'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { word, wordOf } from '#core/words/listed-words.ts'
import { aheadWords } from '#core/words/sentences/ahead.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { Attachments } from './attachments.tsx'
import { CorrectForm } from './correct-form.tsx'
import { shownFields } from './shown-fields.ts'
import './evidence-screen.css'
import { LineChanges } from './line-changes.tsx'

function factText(field: RecordField, value: StoredValue, measures: Measures): string {
  if (value === null) return unknownText
  if (field.type === 'moment') return measures.times.moment(String(value))
  if (field.type === 'word') return wordOf(String(value))
  return field.type === 'number' && field.measure ? measures[field.measure].text(Number(value)) : String(value)
}

interface ValueButtonProps {
  readonly of: string
  readonly children: ReactNode
  /** null: it is only looked at. */
  readonly onClick: (() => void) | null
}

/** A value that is corrected by clicking it. */
const ValueButton = ({ of, children, onClick }: ValueButtonProps) =>
  onClick === null ? (
    children
  ) : (
    <button type="button" className="evidence-value" title={phrase('Correct {value}', { value: of })} onClick={onClick}>
      {children}
      <span className="unheard"> {phrase('correct {value}', { value: of })}</span>
    </button>
  )

/** The values of a ticket or reading: its own facts, then its weights or pressures. */
function Values({
  evidence,
  onPick,
}: {
  evidence: EvidenceView
  /** A value is clicked that is to be corrected; null: that is not for whoever is here. */
  onPick: ((column: string) => void) | null
}) {
  const { kind, places, pairs, values } = evidence
  const measures = useMeasures()
  const column = partColumn[kind]
  const fields = shownFields(evidence)
  const own = Object.entries(fields).filter(([name]) => !places.some((place) => column(place) === name))
  const { weight, pressure } = measures
  const quantity = kind === 'ticket' ? weight : pressure
  const weighed = pairs.filter(({ place }) => values[column(place)] !== null)
  const inPairs = new Set(weighed.flatMap(({ of }) => of))
  const rows = [...places.filter((place) => !inPairs.has(place)), ...weighed.map(({ place }) => place)]
  const sum = rows.reduce((total, place) => total + Number(values[column(place)] ?? 0), 0)
  const isWhole = kind === 'ticket' && rows.every((place) => values[column(place)] !== null)
  const isPair = (place: string) => weighed.some((pair) => pair.place === place)
  return (
    <>
      <Facts
        className="evidence-facts"
        facts={own.map(
          ([name, field]) =>
            [
              field.label,
              <ValueButton key={name} of={field.label} onClick={onPick && (() => onPick(name))}>
                {factText(field, values[name] ?? null, measures)}
              </ValueButton>,
            ] as const,
        )}
      />
      <SheetTable
        caption={kind === 'ticket' ? phrase('Weights of the groups') : phrase('Pressures of the circuits, as read')}
        rows={rows}
        keyOf={(place) => place}
        columns={[
          [
            kind === 'ticket' ? phrase('Group') : phrase('Circuit'),
            (place) => (isPair(place) ? phrase('{place}, on one platform', { place }) : place),
          ],
          [
            `${kind === 'ticket' ? phrase('Weight') : phrase('Pressure')}, ${quantity.symbol}`,
            (place) => (
              <ValueButton of={place} onClick={onPick && (() => onPick(column(place)))}>
                {values[column(place)] === null ? unknownText : quantity.figure(Number(values[column(place)]))}
              </ValueButton>
            ),
            'figure',
          ],
        ]}
        after={
          isWhole && (
            <tr>
              <th scope="row">{phrase('Sum of the groups')}</th>
              <td className="figure">
                <strong>{weight.figure(sum)}</strong>
              </td>
            </tr>
          )
        }
      />
    </>
  )
}

function Lines({ lines }: { lines: EvidenceView['lines'] }) {
  const { times } = useMeasures()
  if (lines.length === 0) return <p className="sheet-none">{phrase('No line rests on it.')}</p>
  return (
    <ul className="bare evidence-list">
      {lines.map(({ id, unit, group, calibratedAt, voided }) => (
        <li key={id}>
          <Phrase
            text="<link>{unit} {group}</link>, calibrated {calibratedAt}{voided}"
            with={{
              link: (words) => <a href={hrefOf('unit', unit, { group })}>{words}</a>,
              unit,
              group,
              calibratedAt: times.moment(calibratedAt),
              voided: voided && phrase(', voided'),
            }}
          />
        </li>
      ))}
    </ul>
  )
}

const titles: Record<EvidenceKind, string> = { ticket: phrase('Ticket'), reading: phrase('Reading') }
const alls: Record<EvidenceKind, string> = { ticket: phrase('All tickets'), reading: phrase('All readings') }

/** The parameters of an offered fix, all taken away. */
const noFix = { fix: null, place: null, typed: null, fits: null, swapped: null, unit: null }

type Told = { readonly key: string; readonly outcome: Corrected } | null

/** What is being corrected: from its button, from one of its values, or as a finding offers. */
interface Correcting {
  readonly column: string | null
  readonly offered: Texts | null
}

function Piece({
  evidence,
  title,
  fix,
  onTold,
}: {
  evidence: EvidenceView
  title: string
  fix: ReturnType<typeof fixIn>
  onTold: (told: Told) => void
}) {
  const measures = useMeasures()
  const [own, setOwn] = useState<Correcting | null>(null)
  const button = useRef<HTMLButtonElement>(null)
  const offered = useMemo(() => fix && fixTexts(fix, evidence, measures), [fix, evidence, measures])
  const mayCorrect = useMay()('evidence.correct')
  const correcting = mayCorrect ? (own ?? (offered && { column: null, offered })) : null
  const heading = `${evidence.kind}-${evidence.id}`
  const correct = (column: string | null) => {
    onTold(null)
    setOwn({ column, offered: null })
  }
  const close = () => {
    setOwn(null)
    if (fix) changeParams(noFix, { replace: true })
    requestAnimationFrame(() => button.current?.focus())
  }
  return (
    <section className="evidence-piece" aria-labelledby={heading}>
      <div className="flow head">
        <h2 id={heading}>
          {correcting ? phrase('Correct {kind} {key}', { kind: word(evidence.kind), key: evidence.name }) : title}
        </h2>
        {!correcting && mayCorrect && (
          <Button ref={button} onClick={() => correct(null)}>
            <Phrase
              text="Correct…<span> {kind} {key}</span>"
              with={{
                span: (words) => <span className="unheard">{words}</span>,
                kind: word(evidence.kind),
                key: evidence.name,
              }}
            />
          </Button>
        )}
      </div>
      {correcting ? (
        <CorrectForm
          key={JSON.stringify(correcting.offered)}
          evidence={evidence}
          column={correcting.column}
          offered={correcting.offered}
          onClose={close}
          onDone={(outcome) => onTold({ key: `${word(evidence.kind)} ${evidence.name}`, outcome })}
        />
      ) : (
        <>
          {evidence.ahead && <p>{aheadWords()}</p>}
          <Values evidence={evidence} onPick={mayCorrect ? correct : null} />
          <h3>{phrase('Lines')}</h3>
          <Lines lines={evidence.lines} />
        </>
      )}
    </section>
  )
}

function Sheet({ kind, id }: { kind: EvidenceKind; id: number }) {
  const measures = useMeasures()
  const { params } = useAddress()
  const fix = useMemo(() => (kind === 'ticket' ? fixIn(params, id) : null), [kind, params, id])
  const sheet = useQuery(api.evidence.sheet.queryOptions({ input: { kind, id } }))
  const [told, setTold] = useState<Told>(null)
  if (!sheet.data)
    return (
      <>
        <ScreenTitle>{titles[kind]}</ScreenTitle>
        <Answer
          to={sheet}
          waiting={phrase('Reading the record…')}
          failed={
            kind === 'ticket' ? phrase('This ticket could not be opened') : phrase('This reading could not be opened')
          }
          way={
            <Button variant="filled" component="a" href={hrefOf('scale-house', `${kind}s`)}>
              {alls[kind]}
            </Button>
          }
        />
      </>
    )
  const { readings, findings, ticketId, ...evidence } = sheet.data
  return (
    <>
      <div className="flow head">
        <ScreenTitle tab={`${evidence.name} · ${titles[kind]}`}>
          {titles[kind]} {evidence.name}
        </ScreenTitle>
        {evidence.units.map((unit) => (
          <a key={unit} href={hrefOf('unit', unit)}>
            {unit}
          </a>
        ))}
        {ticketId !== null && <a href={hrefOf('ticket', String(ticketId))}>{phrase('Its ticket')}</a>}
        <a href={hrefOf('scale-house', `${kind}s`)}>{alls[kind]}</a>
        <a href={hrefOf('log', null, { text: evidence.key })}>{phrase('Change log')}</a>
      </div>
      {told && (
        <Notice kind="done" title={phrase('Corrected {key}', { key: told.key })}>
          <LineChanges outcome={told.outcome} tense="did" />
        </Notice>
      )}
      {findings.length > 0 && (
        <ul className="bare evidence-list" aria-label={phrase('Found about this ticket')}>
          {findings.map(({ code, severity, message, fix: offer }) => (
            <li key={`${code} ${message}`}>
              <SeverityMark severity={severity} /> {message}{' '}
              {offer && <a href={fixHref(offer)}>{fixWords(offer, measures)}</a>}
            </li>
          ))}
        </ul>
      )}
      <div className="evidence-layout">
        <div className="evidence-pieces">
          <Piece
            evidence={evidence}
            title={kind === 'ticket' ? phrase('As printed') : phrase('As read')}
            fix={fix}
            onTold={setTold}
          />
          {readings.map((reading) => (
            <Piece
              key={reading.id}
              evidence={reading}
              title={phrase('Reading {key}', { key: reading.name })}
              fix={fix}
              onTold={setTold}
            />
          ))}
        </div>
        {kind === 'ticket' && <Attachments ticketId={id} name={evidence.name} />}
      </div>
      {kind === 'ticket' && readings.length === 0 && (
        <p className="quiet">{phrase('No reading was taken with this ticket.')}</p>
      )}
      <p className="quiet">
        {phrase(
          'A correction keeps the old value in the change log and refits every line that rests on it. A calibration itself is never edited: void it and make it again from tickets on record.',
        )}
      </p>
      <NotForTrade />
    </>
  )
}

function EvidenceScreen({ kind, subject }: { kind: EvidenceKind; subject: string | null }) {
  const id = Number(subject)
  const isId = Number.isInteger(id) && id > 0
  return (
    <div className="page evidence-sheet">
      {isId ? (
        <Sheet key={id} kind={kind} id={id} />
      ) : (
        <>
          <ScreenTitle>{titles[kind]}</ScreenTitle>
          <p>
            <Phrase
              text="{kind, select, ticket {The address names no ticket.} other {The address names no reading.}} <link>{all}</link>"
              with={{
                kind,
                all: alls[kind],
                link: (words) => <a href={hrefOf('scale-house', `${kind}s`)}>{words}</a>,
              }}
            />
          </p>
        </>
      )}
    </div>
  )
}

/** A scale ticket, whole, with the readings of its moment and the lines that rest on it. */
export const TicketScreen = ({ subject }: { subject: string | null }) => (
  <EvidenceScreen kind="ticket" subject={subject} />
)
/** A reading, whole, and the lines that rest on it. */
export const ReadingScreen = ({ subject }: { subject: string | null }) => (
  <EvidenceScreen kind="reading" subject={subject} />
)
