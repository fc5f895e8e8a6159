import type { GroupView } from '#core/api/contract.ts'
import { day, useMeasures } from '#renderer/parts/format.ts'
import { IntervalBar, sharedReach } from '#renderer/parts/interval-bar.tsx'
import { toleranceVerdict } from '#renderer/parts/tolerance-verdict.ts'
import { unknownText } from '#renderer/parts/words.ts'

/** How far each line was off when it was calibrated anew: what it read, less what the new calibration reads. */
export function AsFoundList({ group: { asFound, calibrations, toleranceLb } }: { group: GroupView }) {
  const { weight } = useMeasures()
  if (asFound.length === 0) return null
  const dayOf = (id: number) => {
    const found = calibrations.find((calibration) => calibration.id === id)
    return found ? day(found.calibratedAt) : unknownText
  }
  const rows = asFound.map(({ calibrationId, beforeId, atEmptyLb, uEmptyLb, atLimitLb, uLimitLb }) => ({
    calibrationId,
    on: dayOf(calibrationId),
    before: dayOf(beforeId),
    uEmptyLb,
    uLimitLb,
    // What comes in is the new line less the old one; the error of the old one is the reverse.
    emptyLb: -atEmptyLb,
    limitLb: -atLimitLb,
    verdict: toleranceVerdict(atLimitLb, uLimitLb, toleranceLb),
  }))
  const reach = sharedReach(
    rows.map(({ limitLb, uLimitLb }) => ({ value: limitLb, u: uLimitLb, tolerance: toleranceLb })),
  )
  return (
    <section className="evidence" aria-labelledby="as-found-title">
      <h3 id="as-found-title">As found at recalibration</h3>
      <p className="evidence-words">
        What each line read before it was replaced, less what the new calibration reads: + means the old line read too
        much. Recalibrations after recorded work are left out.
      </p>
      <table className="sheet-table">
        <caption className="unheard">As-found errors, newest first</caption>
        <thead>
          <tr>
            <th scope="col">Calibrated</th>
            <th scope="col">Line before</th>
            <th scope="col" className="figure">
              At empty, 95 %, {weight.symbol}
            </th>
            <th scope="col" className="figure">
              At limit, 95 %, {weight.symbol}
            </th>
            <th scope="col">Against ± {weight.estimate(toleranceLb)}</th>
            <th scope="col">Verdict</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(({ calibrationId, on, before, emptyLb, uEmptyLb, limitLb, uLimitLb, verdict }) => (
            <tr key={calibrationId}>
              <th scope="row" className="nowrap">
                {on}
              </th>
              <td className="nowrap">{before}</td>
              <td className="figure">
                {weight.difference(emptyLb)} {weight.plusMinusFigure(uEmptyLb)}
              </td>
              <td className="figure">
                {weight.difference(limitLb)} {weight.plusMinusFigure(uLimitLb)}
              </td>
              <td>
                <IntervalBar
                  value={limitLb}
                  u={uLimitLb}
                  tolerance={toleranceLb}
                  reach={reach}
                  label={`${weight.difference(limitLb)} ${weight.plusMinus(uLimitLb)} at the limit, ± ${weight.estimate(toleranceLb)} tolerated`}
                />
              </td>
              <td className="nowrap">{verdict}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}
