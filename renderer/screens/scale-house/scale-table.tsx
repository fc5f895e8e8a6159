import type { ScaleRow } from '#core/api/contract.ts'
import { client } from '#renderer/client/api.ts'
import { DismissFinding } from '#renderer/parts/dismiss-finding.tsx'
import { count, day, decimal, ratio, useMeasures } from '#renderer/parts/format.ts'
import { IntervalBar, sharedReach } from '#renderer/parts/interval-bar.tsx'
import { SeverityMark } from '#renderer/parts/severity-mark.tsx'
import { biasText, biasVerdict } from './scale-words.ts'

/**
 * What the House Rules say of scales: the figures of one whose own are not recorded, and the tolerances beyond which
 * one is biased.
 */
export interface UsualScale {
  readonly divisionLb: number
  readonly tolerancePercent: number
  readonly biasTolerances: number
}

const barOf = ({ biasPercent, uPercent, tolerancePercent }: ScaleRow, usual: UsualScale) =>
  biasPercent === null || uPercent === null
    ? null
    : { value: biasPercent, u: uPercent, tolerance: tolerancePercent ?? usual.tolerancePercent }

/** A recorded figure, or the usual one marked as such. */
const Recorded = ({ own, text }: { own: boolean; text: string }) =>
  own ? text : <span className="quiet">{text}, House Rules</span>

function Bias({ scale, usual, reach }: { scale: ScaleRow; usual: UsualScale; reach: number }) {
  const bar = barOf(scale, usual)
  if (!bar)
    return (
      <td colSpan={3} className="quiet">
        Not known yet: it takes three scales, and on each enough tickets that have a reading and the weight of the
        group.
      </td>
    )
  const text = biasText(scale)
  return (
    <>
      <td className="figure">{text}</td>
      <td>
        <IntervalBar {...bar} reach={reach} label={`Bias ${text}, tolerance ± ${ratio(bar.tolerance)} %`} />
      </td>
      <td className="nowrap">{biasVerdict(scale, bar)}</td>
    </>
  )
}

function ScaleLines({ scale, usual, reach }: { scale: ScaleRow; usual: UsualScale; reach: number }) {
  const { weight, length } = useMeasures()
  const { scale: name, divisionLb, tolerancePercent, elevationFt, tickets, weighings, groups, since, finding } = scale
  return (
    <>
      <tr data-told={finding !== null || undefined}>
        <th scope="row" className="nowrap">
          {name}
        </th>
        <td className="figure">{count(tickets)}</td>
        <td className="figure">
          <Recorded own={divisionLb !== null} text={weight.text(divisionLb ?? usual.divisionLb)} />
        </td>
        <td className="figure">
          <Recorded own={tolerancePercent !== null} text={`± ${ratio(tolerancePercent ?? usual.tolerancePercent)} %`} />
        </td>
        <td className="figure">
          {elevationFt === null ? (
            <span className="quiet">unknown</span>
          ) : (
            `${count(length.shown(elevationFt))} ${length.symbol}`
          )}
        </td>
        <Bias scale={scale} usual={usual} reach={reach} />
        <td className="nowrap">
          {since === null ? (
            ''
          ) : (
            <>
              {count(weighings)}{' '}
              <span className="quiet">
                of {count(groups)} groups since {day(since)}
              </span>
            </>
          )}
        </td>
      </tr>
      {finding !== null && (
        <tr className="scale-finding">
          <td colSpan={9}>
            <SeverityMark severity="warn" /> {finding.message} <span className="quiet">Next: </span>
            {finding.nextStep}{' '}
            <DismissFinding
              title={`Scale biased, ${name}`}
              message={finding.message}
              focusAfter="part-title"
              returnsWith="another weighing on it"
              onDismiss={(dismissal) => client.finding.dismiss({ id: finding.id, ...dismissal })}
            />
          </td>
        </tr>
      )}
    </>
  )
}

/** Every scale with what it is, and how it weighs against the fleet’s other scales. */
export function ScaleTable({ scales, usual }: { scales: readonly ScaleRow[]; usual: UsualScale }) {
  const reach = sharedReach(scales.flatMap((scale) => barOf(scale, usual) ?? []))
  return (
    <table className="sheet-table scale-table">
      <caption className="unheard">Scales</caption>
      <thead>
        <tr>
          <th scope="col">Scale</th>
          <th scope="col" className="figure">
            Tickets
          </th>
          <th scope="col" className="figure">
            Division
          </th>
          <th scope="col" className="figure">
            Tolerance
          </th>
          <th scope="col" className="figure">
            Elevation
          </th>
          <th scope="col" className="figure">
            Bias, 95 %
          </th>
          <th scope="col">
            <span className="scale-axis">
              <span>{`\u2212${decimal(reach)} %`}</span>
              <span>0</span>
              <span>{`+${decimal(reach)} %`}</span>
            </span>
          </th>
          <th scope="col">Against the fleet</th>
          <th scope="col">From weighings</th>
        </tr>
      </thead>
      <tbody>
        {scales.map((scale) => (
          <ScaleLines key={scale.scale} scale={scale} usual={usual} reach={reach} />
        ))}
      </tbody>
    </table>
  )
}
