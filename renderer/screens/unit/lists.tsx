import type { CalibrationView, GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { type Measures, count, ratio, useMeasures } from '#renderer/parts/format.ts'
import { unknownText } from '#renderer/parts/record-text.ts'
import { TicketLink } from '#renderer/parts/ticket-link.tsx'
import type { Times } from '#renderer/parts/times.ts'
import { VoidCalibration } from '#renderer/parts/void-calibration.tsx'

function stateOf({ voidedAt, voidReason, current, line, problem }: CalibrationView, times: Times): string {
  if (voidedAt !== null) return `void since ${times.day(voidedAt)}${voidReason ? `: ${voidReason}` : ''}`
  if (problem !== null) return problem
  if (current) return 'in force'
  return line === null ? 'no line' : 'replaced'
}

function Agreement({ calibration: { chi2, chi2Limit95, widenedBy, points } }: { calibration: CalibrationView }) {
  if (chi2 === null) return unknownText
  if (chi2Limit95 === null) return `${points.length} points, no self-check`
  return `${ratio(chi2)} of ${ratio(chi2Limit95)}${widenedBy !== null && widenedBy > 1 ? `, widened ×${ratio(widenedBy)}` : ''}`
}

/** Every calibration of a group, newest first; none is ever edited, so voided ones stay with their reason. */
export function CalibrationList({ calibrations }: { calibrations: readonly CalibrationView[] }) {
  const { weight, slope, times } = useMeasures()
  if (calibrations.length === 0) return <p className="sheet-none">No calibration yet.</p>
  const newestFirst = [...calibrations].sort((a, b) => b.calibratedAt.localeCompare(a.calibratedAt))
  return (
    <table className="sheet-table">
      <caption className="unheard">Calibrations, newest first</caption>
      <thead>
        <tr>
          <th scope="col">Calibrated</th>
          <th scope="col">By</th>
          <th scope="col">State</th>
          <th scope="col" className="figure">
            Points
          </th>
          <th scope="col" className="figure">
            At 0, {weight.symbol}
          </th>
          <th scope="col" className="figure">
            Slope, {slope.symbol}
          </th>
          <th scope="col">χ² of its 95 % bound</th>
          <th scope="col">
            <span className="unheard">Void</span>
          </th>
        </tr>
      </thead>
      <tbody>
        {newestFirst.map((calibration) => {
          const { id, calibratedAt, calibratedBy, line, points, current, voidedAt } = calibration
          return (
            <tr key={id} data-current={current || undefined}>
              <th scope="row" className="nowrap">
                {voidedAt === null ? times.moment(calibratedAt) : <s>{times.moment(calibratedAt)}</s>}
              </th>
              <td>{calibratedBy ?? unknownText}</td>
              <td>{stateOf(calibration, times)}</td>
              <td className="figure">{points.length || unknownText}</td>
              <td className="figure">
                {line ? (
                  <>
                    {weight.figure(Math.round(line.a / 10) * 10)} {weight.plusMinusFigure(line.uA)}
                  </>
                ) : (
                  unknownText
                )}
              </td>
              <td className="figure">
                {line ? (
                  <>
                    {slope.figure(line.b)} {slope.plusMinusFigure(line.uB)}
                  </>
                ) : (
                  unknownText
                )}
              </td>
              <td className="nowrap">
                <Agreement calibration={calibration} />
              </td>
              <td>{voidedAt === null && <VoidCalibration id={id} name={times.moment(calibratedAt)} />}</td>
            </tr>
          )
        })}
      </tbody>
    </table>
  )
}

type Circuit = GroupView['circuits'][number]
type Sensor = Circuit['sensors'][number]

function Springs({
  circuit: { airSprings, springAreaIn2, rideHeightIn },
  measures: { area, height },
}: {
  circuit: Circuit
  measures: Measures
}) {
  const facts = [
    airSprings === null ? null : `${airSprings} air springs`,
    springAreaIn2 === null ? null : `${area.text(springAreaIn2)} each`,
    rideHeightIn === null ? null : `ride height ${height.text(rideHeightIn)}`,
  ].filter((fact) => fact !== null)
  return facts.join(', ') || 'springs not recorded'
}

const SensorRow = ({
  circuit,
  sensor,
  asOf,
  measures: { pressure, times },
}: {
  circuit: Circuit
  sensor: Sensor
  asOf: string
  measures: Measures
}) => (
  <tr>
    <th scope="row">{circuit.name}</th>
    <td>
      {sensor.serial}
      <span className="quiet"> {sensor.reference}</span>
    </td>
    <td className="nowrap">
      {times.day(sensor.mountedAt)}
      {sensor.removedAt !== null && ` to ${times.day(sensor.removedAt)}`}
    </td>
    <td className="nowrap">
      {sensor.cell ?? unknownText}
      {sensor.cellSince !== null && `, in for ${count(times.daysFrom(sensor.cellSince, asOf))} d`}
    </td>
    <td className="nowrap">
      {[
        sensor.resolutionPsi === null ? null : `steps of ${pressure.text(sensor.resolutionPsi)}`,
        sensor.reportEveryS === null ? null : `every ${count(sensor.reportEveryS)} s`,
      ]
        .filter(Boolean)
        .join(', ') || unknownText}
    </td>
  </tr>
)

/** The circuits of a group with the sensors that sit on them. */
export function CircuitList({ circuits, asOf }: { circuits: readonly Circuit[]; asOf: string }) {
  const measures = useMeasures()
  if (circuits.length === 0) return <p className="sheet-none">No circuit recorded.</p>
  return (
    <>
      <ul className="circuit-springs">
        {circuits.map((circuit) => (
          <li key={circuit.name}>
            <strong>{circuit.name}</strong>: <Springs circuit={circuit} measures={measures} />
          </li>
        ))}
      </ul>
      {circuits.some(({ sensors }) => sensors.length > 0) ? (
        <table className="sheet-table">
          <caption className="unheard">Sensors</caption>
          <thead>
            <tr>
              <th scope="col">Circuit</th>
              <th scope="col">Sensor</th>
              <th scope="col">Mounted</th>
              <th scope="col">Cell</th>
              <th scope="col">Reports</th>
            </tr>
          </thead>
          <tbody>
            {circuits.flatMap((circuit) =>
              circuit.sensors.map((sensor) => (
                <SensorRow
                  key={`${circuit.name} ${sensor.serial} ${sensor.mountedAt}`}
                  circuit={circuit}
                  sensor={sensor}
                  asOf={asOf}
                  measures={measures}
                />
              )),
            )}
          </tbody>
        </table>
      ) : (
        <p className="sheet-none">No sensor recorded.</p>
      )}
    </>
  )
}

/** Work done on the unit, newest first. */
export function EventList({ events }: { events: UnitSheetView['events'] }) {
  const { times } = useMeasures()
  if (events.length === 0) return <p className="sheet-none">No event recorded.</p>
  const newestFirst = [...events].sort((a, b) => b.happenedAt.localeCompare(a.happenedAt))
  return (
    <table className="sheet-table">
      <caption className="unheard">Events, newest first</caption>
      <thead>
        <tr>
          <th scope="col">When</th>
          <th scope="col">What</th>
          <th scope="col">Where</th>
          <th scope="col">Note</th>
        </tr>
      </thead>
      <tbody>
        {newestFirst.map(({ happenedAt, kind, group, circuit, note }) => (
          <tr key={`${happenedAt} ${kind} ${group} ${circuit} ${note}`}>
            <th scope="row" className="nowrap">
              {times.moment(happenedAt)}
            </th>
            <td>{kind}</td>
            <td>{[group, circuit].filter(Boolean).join(', ') || 'whole unit'}</td>
            <td>{note ?? ''}</td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}

/** The newest readings of the unit, with the ticket each belongs to. */
export function ReadingList({ readings }: { readings: UnitSheetView['readings'] }) {
  const { pressure, times } = useMeasures()
  if (readings.length === 0) return <p className="sheet-none">No reading recorded.</p>
  const columns = [
    ...new Map(
      readings.flatMap(({ pressures }) =>
        pressures.map(({ group, circuit }) => [`${group} ${circuit}`, { group, circuit }] as const),
      ),
    ).values(),
  ]
  return (
    <table className="sheet-table">
      <caption className="unheard">Newest readings, pressures in {pressure.symbol} as read</caption>
      <thead>
        <tr>
          <th scope="col">Taken</th>
          <th scope="col">Reading</th>
          <th scope="col">Ticket</th>
          <th scope="col">Lift axle</th>
          {columns.map(({ group, circuit }) => (
            <th key={`${group} ${circuit}`} scope="col" className="figure">
              {group === circuit ? group : `${group} ${circuit}`}, {pressure.symbol}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {readings.map(({ reading, takenAt, ticket, scale, lift, pressures }) => (
          <tr key={reading}>
            <th scope="row" className="nowrap">
              {times.moment(takenAt)}
            </th>
            <td>
              <a href={hrefOf('scale-house', 'readings', { text: reading })}>{reading}</a>
            </td>
            <td>
              {ticket === null ? <span className="quiet">none</span> : <TicketLink number={ticket} scale={scale} />}
            </td>
            <td>{lift ?? unknownText}</td>
            {columns.map((column) => {
              const found = pressures.find(({ group, circuit }) => group === column.group && circuit === column.circuit)
              return (
                <td key={`${column.group} ${column.circuit}`} className="figure">
                  {found ? pressure.figure(found.psi) : ''}
                </td>
              )
            })}
          </tr>
        ))}
      </tbody>
    </table>
  )
}
