import type { GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { IntervalBar, sharedReach } from '#renderer/parts/interval-bar.tsx'
import { toleranceVerdict } from '#renderer/parts/marks.tsx'
import { unknownText } from '#renderer/parts/record-text.ts'
import { CheckView } from './checks/check-view.tsx'
import { LineView } from './line/line-view.tsx'
import { CalibrationList, CircuitList } from './lists.tsx'
import { TrackView } from './track/track-view.tsx'

/** How far each line was off when it was calibrated anew: what it read, less what the new calibration reads. */
export function AsFoundList({ group: { asFound, calibrations, toleranceLb } }: { group: GroupView }) {
  const { weight, times } = useMeasures()
  if (asFound.length === 0) return null
  const dayOf = (id: number) => {
    const found = calibrations.find((calibration) => calibration.id === id)
    return found ? times.day(found.calibratedAt) : unknownText
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

const axleWords: Record<number, string> = { 1: 'single axle', 2: 'tandem', 3: 'tridem' }

/** The axles of a group as the trade calls them. */
export const axleWord = (axles: number): string => axleWords[axles] ?? `${axles} axles`

/** The role, where the group's name does not already say it. */
export const roleWord = ({ name, role }: Pick<GroupView, 'name' | 'role'>): string =>
  name.toLowerCase().includes(role) ? '' : role

/** Why a group without a circuit has a weight all the same. */
export function measureSentence({ measuredBy }: Pick<GroupView, 'measuredBy'>): string {
  if (measuredBy === 'estimate') return 'No circuit: the weight of this group is estimated from another group.'
  if (measuredBy === 'ticket') return 'No circuit: the weight of this group is known from scale tickets only.'
  return 'No circuit is recorded for this group, so it has no calibration line.'
}

function GroupFigures({ group, asOf }: { group: GroupView; asOf: string }) {
  const { weight, pressure, slope, times } = useMeasures()
  const { calibratedAt, ageDays, dueOn, uLimitLb, toleranceLb, loadTo, limitLb, limitRecorded } = group
  const line = group.calibrations.find(({ current }) => current)?.line
  return (
    <dl className="group-facts">
      <div>
        <dt>Limit</dt>
        <dd>
          {weight.text(limitLb)} {!limitRecorded && <span className="quiet">federal, none recorded</span>}
        </dd>
      </div>
      {loadTo && (
        <div className="group-target">
          <dt>Load to</dt>
          <dd>
            {'psi' in loadTo ? (
              <>
                <strong>{pressure.text(loadTo.psi)}</strong> <span className="quiet">surely under its limit there</span>
              </>
            ) : (
              loadTo.why
            )}
          </dd>
        </div>
      )}
      {uLimitLb !== null && (
        <div>
          <dt>At limit</dt>
          <dd>
            {weight.plusMinus(uLimitLb)} <span className="quiet">95 %, {weight.estimate(toleranceLb)} tolerated</span>
          </dd>
        </div>
      )}
      {line && (
        <div>
          <dt>Line</dt>
          <dd>
            weight = {weight.estimate(line.a)} + {slope.text(line.b)} × pressure
          </dd>
        </div>
      )}
      <div>
        <dt>Calibrated</dt>
        <dd>
          {calibratedAt === null ? (
            'never'
          ) : (
            <>
              {times.moment(calibratedAt)} <span className="quiet">{count(ageDays ?? 0)} d ago</span>
            </>
          )}
        </dd>
      </div>
      {dueOn !== null && (
        <div>
          <dt>Due</dt>
          <dd>
            {dueOn} <span className="quiet">{times.away(dueOn, asOf)}</span>
          </dd>
        </div>
      )}
    </dl>
  )
}

const liftWords = { raised: 'Raised', lowered: 'Lowered', both: 'Mixed: weighs in neither state' } as const

/** The lines of a group that has one for each state of its lift axle: each is trusted and due for itself. */
function LiftStandings({ standings }: Pick<GroupView, 'standings'>) {
  const { weight, pressure, times } = useMeasures()
  if (standings.length < 2) return null
  return (
    <section aria-label="A line for each lift state">
      <h3>A line for each lift state</h3>
      <table className="sheet-table">
        <thead>
          <tr>
            <th scope="col">Lift axle</th>
            <th scope="col">Trust</th>
            <th scope="col">Calibrated</th>
            <th scope="col">Due</th>
            <th scope="col">Load to</th>
            <th scope="col">At limit, 95 %</th>
          </tr>
        </thead>
        <tbody>
          {standings.map(({ calibrationId, lift, trust, calibratedAt, dueOn, loadTo, uLimitLb }) => (
            <tr key={calibrationId}>
              <th scope="row">{lift === null ? 'Any' : liftWords[lift]}</th>
              <td>{trust}</td>
              <td className="nowrap">{times.moment(calibratedAt)}</td>
              <td className="nowrap">{dueOn}</td>
              <td className="figure">
                {'psi' in loadTo ? pressure.text(loadTo.psi) : <span title={loadTo.why}>none</span>}
              </td>
              <td className="figure">{weight.plusMinus(uLimitLb)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}

/** One axle group: its line, what it is good for, and what it was made from. */
export function GroupPanel({
  unit,
  group,
  events,
  asOf,
}: {
  unit: string
  group: GroupView
  events: UnitSheetView['events']
  asOf: string
}) {
  return (
    <div id="group-panel" role="tabpanel" aria-labelledby={`group-tab-${group.id}`} className="group-panel">
      {group.sensed ? (
        <>
          <GroupFigures group={group} asOf={asOf} />
          <LiftStandings standings={group.standings} />
          <LineView key={group.id} group={group} />
          <NotForTrade />
          {group.track && (
            <>
              <TrackView group={group} track={group.track} events={events} asOf={asOf} />
              <CheckView track={group.track} name={group.name} asOf={asOf} />
            </>
          )}
          <AsFoundList group={group} />
          <h3>Calibrations</h3>
          <CalibrationList calibrations={group.calibrations} />
          <p>
            <a href={hrefOf('calibrate', unit, { group: group.name })}>Calibrate from tickets on record</a>
          </p>
        </>
      ) : (
        <>
          <p>{measureSentence(group)}</p>
          <GroupFigures group={group} asOf={asOf} />
        </>
      )}
      <h3>Circuits and sensors</h3>
      <CircuitList circuits={group.circuits} asOf={asOf} />
    </div>
  )
}
