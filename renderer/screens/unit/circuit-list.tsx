import type { GroupView } from '#core/api/contract.ts'
import { count, day, daysFrom, type Measures, useMeasures } from '#renderer/parts/format.ts'
import { unknownText } from '#renderer/parts/words.ts'

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
  measures: { pressure },
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
      {day(sensor.mountedAt)}
      {sensor.removedAt !== null && ` to ${day(sensor.removedAt)}`}
    </td>
    <td className="nowrap">
      {sensor.cell ?? unknownText}
      {sensor.cellSince !== null && `, in for ${count(daysFrom(sensor.cellSince, asOf))} d`}
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
