import type { CalibrationView, GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { client } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count, ratio, useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/links.tsx'
import { unknownText } from '#renderer/parts/record-text.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import type { Times } from '#renderer/parts/times.ts'
import { VoidCalibration } from '#renderer/parts/void-calibration.tsx'

function stateOf({ voidedAt, voidReason, current, line, problem }: CalibrationView, times: Times): string {
  if (voidedAt !== null) return `void since ${times.day(voidedAt)}${voidReason ? `: ${voidReason}` : ''}`
  if (problem !== null) return problem
  if (current) return 'in force'
  return line === null ? 'no line' : 'replaced'
}

function agreement({ chi2, chi2Limit95, widenedBy, points }: CalibrationView): string {
  if (chi2 === null) return unknownText
  if (chi2Limit95 === null) return `${points.length} points, no self-check`
  const widened = widenedBy !== null && widenedBy > 1 ? `, widened ×${ratio(widenedBy)}` : ''
  return `${ratio(chi2)} of ${ratio(chi2Limit95)}${widened}`
}

/** Every calibration of a group, newest first; none is ever edited, so voided ones stay with their reason. */
export function CalibrationList({ calibrations }: { calibrations: readonly CalibrationView[] }) {
  const { weight, slope, times } = useMeasures()
  if (calibrations.length === 0) return <p className="sheet-none">No calibration yet.</p>
  return (
    <SheetTable
      caption="Calibrations, newest first"
      rows={calibrations.toSorted((a, b) => b.calibratedAt.localeCompare(a.calibratedAt))}
      keyOf={({ id }) => id}
      mark={({ current }) => ({ 'data-current': current || undefined })}
      columns={[
        [
          'Calibrated',
          ({ calibratedAt, voidedAt }) =>
            voidedAt === null ? times.moment(calibratedAt) : <s>{times.moment(calibratedAt)}</s>,
          'nowrap',
        ],
        ['By', ({ calibratedBy }) => calibratedBy ?? unknownText],
        ['State', (calibration) => stateOf(calibration, times)],
        ['Points', ({ points }) => points.length || unknownText, 'figure'],
        [
          `At 0, ${weight.symbol}`,
          ({ line }) =>
            line ? `${weight.figure(Math.round(line.a / 10) * 10)} ${weight.plusMinusFigure(line.uA)}` : unknownText,
          'figure',
        ],
        [
          `Slope, ${slope.symbol}`,
          ({ line }) => (line ? `${slope.figure(line.b)} ${slope.plusMinusFigure(line.uB)}` : unknownText),
          'figure',
        ],
        ['χ² of its 95 % bound', agreement, 'nowrap'],
        [
          'Void',
          ({ id, calibratedAt, voidedAt }) =>
            voidedAt === null && (
              <VoidCalibration
                name={times.moment(calibratedAt)}
                onVoid={(answer) => client.weighIn.voidCalibration({ id, ...answer })}
              />
            ),
          'steps',
        ],
      ]}
    />
  )
}

/** Some facts in a row, as far as they are known. */
const listed = (facts: readonly (string | false)[]) => facts.filter(Boolean).join(', ')

/** The circuits of a group with the sensors that sit on them. */
export function CircuitList({ circuits, asOf }: Pick<GroupView, 'circuits'> & { asOf: string }) {
  const { area, height, pressure, times } = useMeasures()
  if (circuits.length === 0) return <p className="sheet-none">No circuit recorded.</p>
  const sensors = circuits.flatMap(({ name, sensors: own }) => own.map((sensor) => ({ ...sensor, circuit: name })))
  return (
    <>
      <ul className="circuit-springs">
        {circuits.map(({ name, airSprings, springAreaIn2, rideHeightIn }) => (
          <li key={name}>
            <strong>{name}</strong>:{' '}
            {listed([
              airSprings !== null && `${airSprings} air springs`,
              springAreaIn2 !== null && `${area.text(springAreaIn2)} each`,
              rideHeightIn !== null && `ride height ${height.text(rideHeightIn)}`,
            ]) || 'springs not recorded'}
          </li>
        ))}
      </ul>
      {sensors.length === 0 ? (
        <p className="sheet-none">No sensor recorded.</p>
      ) : (
        <SheetTable
          caption="Sensors"
          rows={sensors}
          keyOf={({ circuit, serial, mountedAt }) => `${circuit} ${serial} ${mountedAt}`}
          columns={[
            ['Circuit', ({ circuit }) => circuit],
            [
              'Sensor',
              ({ serial, reference }) => (
                <>
                  {serial}
                  <span className="quiet"> {reference}</span>
                </>
              ),
            ],
            [
              'Mounted',
              ({ mountedAt, removedAt }) =>
                times.day(mountedAt) + (removedAt === null ? '' : ` to ${times.day(removedAt)}`),
              'nowrap',
            ],
            [
              'Cell',
              ({ cell, cellSince }) =>
                (cell ?? unknownText) +
                (cellSince === null ? '' : `, in for ${count(times.daysFrom(cellSince, asOf))} d`),
              'nowrap',
            ],
            [
              'Reports',
              ({ resolutionPsi, reportEveryS }) =>
                listed([
                  resolutionPsi !== null && `steps of ${pressure.text(resolutionPsi)}`,
                  reportEveryS !== null && `every ${count(reportEveryS)} s`,
                ]) || unknownText,
              'nowrap',
            ],
          ]}
        />
      )}
    </>
  )
}

/** Work done on the unit, newest first. */
export function EventList({ events }: Pick<UnitSheetView, 'events'>) {
  const { times } = useMeasures()
  if (events.length === 0) return <p className="sheet-none">No event recorded.</p>
  return (
    <SheetTable
      caption="Events, newest first"
      rows={events.toSorted((a, b) => b.happenedAt.localeCompare(a.happenedAt))}
      keyOf={({ happenedAt, kind, group, circuit, note }) => `${happenedAt} ${kind} ${group} ${circuit} ${note}`}
      columns={[
        ['When', ({ happenedAt }) => times.moment(happenedAt), 'nowrap'],
        ['What', ({ kind }) => kind],
        ['Where', ({ group, circuit }) => [group, circuit].filter(Boolean).join(', ') || 'whole unit'],
        ['Note', ({ note }) => note],
      ]}
    />
  )
}

type Reading = UnitSheetView['readings'][number]

/** The newest readings of the unit, with the ticket each belongs to. */
export function ReadingList({ readings }: Pick<UnitSheetView, 'readings'>) {
  const { weight, pressure, times } = useMeasures()
  if (readings.length === 0) return <p className="sheet-none">No reading recorded.</p>
  const circuits = new Map(
    readings.flatMap(({ pressures }) => pressures.map((each) => [`${each.group} ${each.circuit}`, each] as const)),
  )
  return (
    <SheetTable
      caption={`Newest readings, pressures in ${pressure.symbol} as read`}
      rows={readings}
      keyOf={({ reading }) => reading}
      columns={[
        ['Taken', ({ takenAt }) => times.moment(takenAt), 'nowrap'],
        ['Reading', ({ reading, readingId }) => <a href={hrefOf('reading', String(readingId))}>{reading}</a>, 'nowrap'],
        [
          'Ticket',
          ({ ticketId, ticket, scale }) =>
            ticket === null ? null : <TicketLink id={ticketId} number={ticket} scale={scale} />,
        ],
        ['Lift axle', ({ lift }) => lift ?? unknownText],
        ...Array.from(
          circuits.values(),
          ({ group, circuit }) =>
            [
              `${group === circuit ? group : `${group} ${circuit}`}, ${pressure.symbol}`,
              ({ pressures }: Reading) => {
                const found = pressures.find((each) => each.group === group && each.circuit === circuit)
                return found && pressure.figure(found.psi)
              },
              'figure',
            ] as const,
        ),
        ...Array.from(
          new Set(readings.flatMap(({ weights }) => weights.map(({ group }) => group))),
          (group) =>
            [
              `${group}, ${weight.symbol}`,
              ({ weights }: Reading) => {
                const found = weights.find((each) => each.group === group)
                return found && `${weight.estimateFigure(found.weightLb)} ${weight.plusMinusFigure(found.uLb)}`
              },
              'figure',
              'What all evidence of today says that it weighed, with its 95 % interval',
            ] as const,
        ),
      ]}
    />
  )
}
