import type { GroupView, UnitSheetView } from '#core/api/contract.ts'
import { awayInDays, count, moment, useMeasures } from '#renderer/parts/format.ts'
import { NotForTrade } from '#renderer/parts/not-for-trade.tsx'
import { AsFoundList } from './as-found.tsx'
import { CalibrationList } from './calibration-list.tsx'
import { CheckView } from './check-view.tsx'
import { CircuitList } from './circuit-list.tsx'
import { measureSentence } from './group-words.ts'
import { LineView } from './line-view.tsx'
import { TrackView } from './track-view.tsx'

function GroupFacts({ group, asOf }: { group: GroupView; asOf: string }) {
  const { weight, pressure, slope } = useMeasures()
  const { calibratedAt, ageDays, dueOn, uLimitLb, toleranceLb, targetPsi, limitLb, limitRecorded } = group
  const line = group.calibrations.find(({ current }) => current)?.line
  return (
    <dl className="group-facts">
      <div>
        <dt>Limit</dt>
        <dd>
          {weight.text(limitLb)} {!limitRecorded && <span className="quiet">federal, none recorded</span>}
        </dd>
      </div>
      {targetPsi && (
        <div className="group-target">
          <dt>Load to</dt>
          <dd>
            <strong>{pressure.text(targetPsi.value)}</strong> {pressure.plusMinusFigure(targetPsi.u)}{' '}
            <span className="quiet">reaches the limit, 95 %</span>
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
              {moment(calibratedAt)} <span className="quiet">{count(ageDays ?? 0)} d ago</span>
            </>
          )}
        </dd>
      </div>
      {dueOn !== null && (
        <div>
          <dt>Due</dt>
          <dd>
            {dueOn} <span className="quiet">{awayInDays(dueOn, asOf)}</span>
          </dd>
        </div>
      )}
    </dl>
  )
}

/** One axle group: its line, what it is good for, and what it was made from. */
export function GroupPanel({
  group,
  events,
  asOf,
}: {
  group: GroupView
  events: UnitSheetView['events']
  asOf: string
}) {
  return (
    <div id="group-panel" role="tabpanel" aria-labelledby={`group-tab-${group.id}`} className="group-panel">
      {group.sensed ? (
        <>
          <GroupFacts group={group} asOf={asOf} />
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
        </>
      ) : (
        <>
          <p>{measureSentence(group)}</p>
          <GroupFacts group={group} asOf={asOf} />
        </>
      )}
      <h3>Circuits and sensors</h3>
      <CircuitList circuits={group.circuits} asOf={asOf} />
    </div>
  )
}
