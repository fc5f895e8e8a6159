import type { CalibrationView } from '#core/api/contract.ts'
import { day, moment, ratio, useMeasures } from '#renderer/parts/format.ts'
import { unknownText } from '#renderer/parts/words.ts'
import { VoidCalibration } from '#renderer/parts/void-calibration.tsx'

function stateOf({ voidedAt, voidReason, current, line, problem }: CalibrationView): string {
  if (voidedAt !== null) return `void since ${day(voidedAt)}${voidReason ? `: ${voidReason}` : ''}`
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
  const { weight, slope } = useMeasures()
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
                {voidedAt === null ? moment(calibratedAt) : <s>{moment(calibratedAt)}</s>}
              </th>
              <td>{calibratedBy ?? unknownText}</td>
              <td>{stateOf(calibration)}</td>
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
              <td>{voidedAt === null && <VoidCalibration id={id} name={moment(calibratedAt)} />}</td>
            </tr>
          )
        })}
      </tbody>
    </table>
  )
}
