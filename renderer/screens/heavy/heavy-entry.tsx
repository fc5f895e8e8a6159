import type { RefObject } from 'react'
import type { HeavyEntry } from '#core/api/heavy-contract.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { chance, moment, useMeasures } from '#renderer/parts/format.ts'
import { IntervalBar } from '#renderer/parts/interval-bar.tsx'
import { NotForTrade } from '#renderer/parts/not-for-trade.tsx'
import { VerdictMark } from '#renderer/parts/verdict-mark.tsx'
import { DriverNote } from './driver-note.tsx'
import { limitOf, plural, recordKey } from './heavy-words.ts'

/** Far enough that a small miss and a large one look different, lb. */
const leastReachLb = 1000

function Record({ entry: { source, scale, ticket, reading, superseded } }: { entry: HeavyEntry }) {
  if (source === 'ticket')
    return (
      <>
        Ticket {ticket}, {scale}
      </>
    )
  return (
    <>
      Onboard, reading {reading}
      {ticket !== null && ` of ticket ${ticket}, ${scale}`}
      {superseded && '; that ticket weighed the same and decides'}
    </>
  )
}

function Facts({ entry }: { entry: HeavyEntry }) {
  const { weight, length } = useMeasures()
  const { units, yard, weighedAt, weightLb, uLb, limitLb, set, pOver } = entry
  return (
    <dl className="heavy-facts">
      <dt>Weighed</dt>
      <dd>{moment(weighedAt)}</dd>
      <dt>By</dt>
      <dd>
        <Record entry={entry} />
      </dd>
      <dt>Units</dt>
      <dd>
        {units.map((unit, i) => (
          <span key={unit}>
            {i > 0 && ' + '}
            <a href={hrefOf('unit', unit)}>{unit}</a>
          </span>
        ))}
        {yard !== null && <span className="quiet">, {yard}</span>}
      </dd>
      <dt>Weight</dt>
      <dd>
        {weight.estimate(weightLb)} {weight.plusMinusFigure(uLb)} <span className="quiet">(95 %)</span>
      </dd>
      <dt>Limit</dt>
      <dd>
        {weight.text(limitLb)}{' '}
        <span className="quiet">
          {limitOf(entry)}
          {set && `, ${length.text(set.lengthFt)} between the outer ones`}
        </span>
        {set !== null && set.more > 0 && (
          <div className="quiet">
            {set.more} more {plural(set.more, 'set is', 'sets are')} as bad
          </div>
        )}
      </dd>
      <dt>Chance</dt>
      <dd>
        {chance(pOver)} <span className="quiet">that it is over the limit</span>
      </dd>
    </dl>
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
  const { weight } = useMeasures()
  const { overLb, uLb, verdict } = entry
  const reach = 1.08 * Math.max(leastReachLb, Math.abs(overLb) + 2 * uLb)
  const difference = `${weight.difference(overLb)} ${weight.plusMinus(uLb)}`
  return (
    <>
      <h2 className="heavy-verdict">
        <VerdictMark verdict={verdict} />
      </h2>
      <p className="heavy-by">
        {overLb >= 0 ? 'Over' : 'Under'} the limit by <strong>{weight.estimate(Math.abs(overLb))}</strong>{' '}
        {weight.plusMinusFigure(uLb)} <span className="quiet">(95 %)</span>
      </p>
      <IntervalBar value={overLb} u={uLb} tolerance={0} reach={reach} label={`Against the limit: ${difference}`} />
      <p className="heavy-axis" aria-hidden="true">
        <span>{weight.difference(-reach)}</span>
        <span>limit</span>
        <span>{weight.difference(reach)}</span>
      </p>
      <Facts entry={entry} />
      <DriverNote key={recordKey(entry)} entry={entry} field={noteField} onLeave={onLeaveNote} />
      <NotForTrade />
      <p className="quiet heavy-limits">
        The limit recorded with the unit or group counts; where none is, the one of the{' '}
        <a href={hrefOf('house-rules', null, { text: 'limit' })}>House Rules</a>, which a permit, a state or a maker’s
        rating may replace.
      </p>
    </>
  )
}
