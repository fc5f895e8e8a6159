import { NativeSelect, TextInput } from '@mantine/core'
import type { PreparedWeighIn } from '#core/contracts/weigh-in.ts'
import type { Finding } from '#core/findings/finding.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'
import { unlikelyPressure, unlikelyWeight } from '#core/words/sentences/unlikely.ts'
import { type Quantity, type Typed, ifValue, useMeasures, useSay } from '#renderer/parts/format.ts'
import { SheetHead } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import { FigureField } from './figure-field.tsx'
import { type ReadRow, type RowDraft, type WeightColumn, hasLiftAxle, liftChoices } from './visit-draft.ts'
import { TimeField } from '#renderer/parts/time-field.tsx'

interface VisitRowsProps {
  prepared: PreparedWeighIn
  rows: readonly ReadRow[]
  /** The weights that a ticket of the visit may have. */
  weighed: readonly WeightColumn[]
  /** About each row's ticket. */
  findings: readonly (readonly Finding[])[]
  onChange: (row: number, change: Partial<RowDraft>) => void
}

/** A heading with its unit below it. */
const inUnit = (name: string, { symbol }: Quantity) =>
  [
    <span key={name}>
      {name}
      <br />
      <span className="quiet">{symbol}</span>
    </span>,
  ] as const

/** The rows to type, in the order in which ticket and gauges are read: number, time, weights, gross, pressures. */
export function VisitRows({ prepared: { units, histories }, rows, weighed, findings, onChange }: VisitRowsProps) {
  const { weight, pressure } = useMeasures()
  const say = useSay()
  const circuits = units
    .flatMap(({ groups: own }) =>
      own.flatMap(({ groupId }) => histories.filter((history) => history.groupId === groupId)),
    )
    .flatMap(({ unit, group, circuits: all }) =>
      all.map((circuit) => ({ ...circuit, unit, group, rangePsi: circuit.mounts.at(-1)?.rangePsi ?? null })),
    )
  const lift = hasLiftAxle({ units, histories })
  const columns = 4 + weighed.length + circuits.length + (lift ? 1 : 0)
  return (
    <div className="wide visit-rows">
      <table className="sheet-table">
        <SheetHead
          heads={[
            [phrase('Row')],
            [phrase('Ticket')],
            [phrase('Weighed at')],
            ...weighed.map(({ unit, group }) => inUnit(`${unit} ${group}`, weight)),
            inUnit(phrase('Gross'), weight),
            ...circuits.map(({ unit, group, name }) => inUnit(`${unit} ${group} ${name}`, pressure)),
            ...(lift ? [[phrase('Lift axles')] as const] : []),
          ]}
        />
        {rows.map(({ draft, typed, gross, weights, psi }, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: rows are known by their place and never move
          <tbody key={i}>
            <tr>
              <th scope="row">
                <span className="visit-row-word">{phrase('Row')} </span>
                {i + 1}
              </th>
              <td data-label={phrase('Ticket')}>
                <TextInput
                  aria-label={phrase('Ticket number, row {i}', { i: i + 1 })}
                  autoComplete="off"
                  value={draft.ticket}
                  onChange={(event) => onChange(i, { ticket: event.currentTarget.value })}
                />
              </td>
              <td data-label={phrase('Weighed at')}>
                <TimeField
                  aria-label={phrase('Weighed at, row {i}', { i: i + 1 })}
                  placeholder={phrase('now')}
                  value={draft.at}
                  onChange={(event) => onChange(i, { at: event.currentTarget.value })}
                />
              </td>
              {weighed.map(({ key, unit, group }) => (
                <td key={key} data-label={`${unit} ${group}, ${weight.symbol}`}>
                  <FigureField
                    aria-label={phrase('{unit} {group} weight, row {i}', { unit, group, i: i + 1 })}
                    value={draft.weights[key] ?? ''}
                    typed={weights.get(key) as Typed}
                    unlikely={ifValue(weights.get(key), (lb) => unlikelyWeight(lb, say))}
                    onType={(text) => onChange(i, { weights: { ...draft.weights, [key]: text } })}
                  />
                </td>
              ))}
              <td data-label={phrase('Gross, {weightSymbol}', { weightSymbol: weight.symbol })}>
                <FigureField
                  aria-label={phrase('Gross, row {i}', { i: i + 1 })}
                  value={draft.gross}
                  typed={gross}
                  onType={(text) => onChange(i, { gross: text })}
                />
              </td>
              {circuits.map(({ circuitId, unit, group, name, rangePsi }) => (
                <td key={circuitId} data-label={`${unit} ${group} ${name}, ${pressure.symbol}`}>
                  <FigureField
                    aria-label={phrase('{unit} {group} {name} pressure, row {i}', { unit, group, name, i: i + 1 })}
                    value={draft.psi[circuitId] ?? ''}
                    typed={psi.get(circuitId) as Typed}
                    unlikely={ifValue(psi.get(circuitId), (value) => unlikelyPressure(value, rangePsi, say))}
                    onType={(text) => onChange(i, { psi: { ...draft.psi, [circuitId]: text } })}
                  />
                </td>
              ))}
              {lift && (
                <td data-label={phrase('Lift axles')}>
                  <NativeSelect
                    aria-label={phrase('Lift axles, row {i}', { i: i + 1 })}
                    data={liftChoices}
                    value={draft.lift}
                    onChange={(event) => onChange(i, { lift: event.currentTarget.value })}
                  />
                </td>
              )}
            </tr>
            {typed === 'reading' && (
              <tr>
                <td colSpan={columns} className="quiet">
                  {phrase('Row {i} is a reading alone: no ticket, no weight.', { i: i + 1 })}
                </td>
              </tr>
            )}
            {(findings[i] ?? []).map((finding) => (
              <tr key={`${finding.code} ${finding.ticketId}`}>
                <td colSpan={columns} className="visit-problem">
                  {sayFinding(finding, say).message}
                </td>
              </tr>
            ))}
          </tbody>
        ))}
      </table>
    </div>
  )
}
