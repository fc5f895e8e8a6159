import { useInfiniteQuery } from '@tanstack/react-query'
import type { CalibrationRow } from '#core/api/evidence-contract.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count, moment, useMeasures } from '#renderer/parts/format.ts'
import { unknownText } from '#renderer/parts/words.ts'
import { VoidCalibration } from '#renderer/parts/void-calibration.tsx'
import { type After, EvidenceList, pageAfterPage, useListFilter } from './evidence-list.tsx'

function Standing({ voided, line }: Pick<CalibrationRow, 'voided' | 'line'>) {
  const { weight, slope } = useMeasures()
  if (voided)
    return (
      <>
        voided {moment(voided.at)}
        {voided.by && ` by ${voided.by}`}: {voided.reason}
      </>
    )
  if (!line) return <span className="quiet">not in use</span>
  return (
    <>
      in use: {weight.estimate(line.a)} + {slope.text(line.b)}
      {line.uLimitLb !== null && <>, {weight.plusMinus(line.uLimitLb)} at the limit (95 %)</>}
    </>
  )
}

/** Every calibration, voided ones among them: they are never edited. */
export function CalibrationsPart() {
  const filter = useListFilter()
  const list = useInfiniteQuery(
    api.evidence.calibrations.infiniteOptions({ input: (after: After) => ({ ...filter, after }), ...pageAfterPage }),
  )
  return (
    <EvidenceList
      list={list}
      searched="Unit, group or person"
      none="No calibration yet. Weigh a unit at two loads or more at the Weigh-in."
      caption="Calibrations, newest first"
      head={
        <>
          <th scope="col">Calibrated</th>
          <th scope="col">Group</th>
          <th scope="col">By</th>
          <th scope="col" className="figure">
            Points
          </th>
          <th scope="col">Line</th>
          <th scope="col">
            <span className="unheard">Void</span>
          </th>
        </>
      }
      row={({ id, unit, group, calibratedAt, by, points, voided, line }) => (
        <tr key={id} className={voided ? 'evidence-void' : undefined}>
          <td className="nowrap">{moment(calibratedAt)}</td>
          <th scope="row" className="nowrap">
            <a href={hrefOf('unit', unit, { group })}>
              {unit} {group}
            </a>
          </th>
          <td>{by ?? unknownText}</td>
          <td className="figure">{count(points)}</td>
          <td>
            <Standing voided={voided} line={line} />
          </td>
          <td>{voided ? '' : <VoidCalibration id={id} name={`${unit} ${group} of ${moment(calibratedAt)}`} />}</td>
        </tr>
      )}
    />
  )
}
