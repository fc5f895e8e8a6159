import type { GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { type Measures, count, useMeasures, useSay } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { IntervalBar, sharedReach } from '#renderer/parts/interval-bar.tsx'
import { nextDue, sayDue } from '#core/findings/next-due.ts'
import { toleranceVerdict } from '#core/words/coverage.ts'
import { unknownText } from '#renderer/parts/record-text.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { CheckView } from './checks/check-view.tsx'
import { SumList } from './checks/sum-list.tsx'
import { LineView } from './line/line-view.tsx'
import { CalibrationList, CircuitList } from './lists.tsx'
import { TrackView } from './track/track-view.tsx'

/** How far each line was off when it was calibrated anew: what it read, less what the new calibration reads. */
function AsFoundList({ group: { asFound, calibrations, toleranceLb } }: { group: GroupView }) {
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
  const tolerated = weight.estimate(toleranceLb)
  const error = (lb: number, uLb: number) => `${weight.difference(lb)} ${weight.plusMinusFigure(uLb)}`
  return (
    <Section className="evidence" title={phrase('As found at recalibration')} level={3}>
      <p className="evidence-words">
        {phrase(
          'What each line read before it was replaced, less what the new calibration reads: + means the old line read too much. Recalibrations after recorded work are left out.',
        )}
      </p>
      <SheetTable
        caption={phrase('As-found errors, newest first')}
        rows={rows}
        keyOf={({ calibrationId }) => calibrationId}
        columns={[
          [phrase('Calibrated'), ({ on }) => on, 'nowrap'],
          [phrase('Line before'), ({ before }) => before, 'nowrap'],
          [
            phrase('At empty, 95 %, {weightSymbol}', { weightSymbol: weight.symbol }),
            ({ emptyLb, uEmptyLb }) => error(emptyLb, uEmptyLb),
            'figure',
          ],
          [
            phrase('At limit, 95 %, {weightSymbol}', { weightSymbol: weight.symbol }),
            ({ limitLb, uLimitLb }) => error(limitLb, uLimitLb),
            'figure',
          ],
          [
            phrase('Against ± {tolerated}', { tolerated }),
            ({ limitLb, uLimitLb }) => (
              <IntervalBar
                value={limitLb}
                u={uLimitLb}
                tolerance={toleranceLb}
                reach={reach}
                label={phrase('{limitLb}\u00a0{weightSymbol} at the limit, ± {tolerated} tolerated', {
                  limitLb: error(limitLb, uLimitLb),
                  weightSymbol: weight.symbol,
                  tolerated,
                })}
              />
            ),
          ],
          [phrase('Verdict'), ({ verdict }) => word(verdict), 'nowrap'],
        ]}
      />
    </Section>
  )
}

const axleWords: Record<number, string> = { 1: phrase('single axle'), 2: phrase('tandem'), 3: phrase('tridem') }

/** The axles of a group as the trade calls them. */
export const axleWord = (axles: number): string => axleWords[axles] ?? phrase('{axles} axles', { axles })

/** The role, where the group's name does not already say it. */
export const roleWord = ({ name, role }: Pick<GroupView, 'name' | 'role'>): string =>
  name.toLowerCase().includes(role) ? '' : role

/** Why a group without a circuit has a weight all the same. */
function measureSentence({ measuredBy }: Pick<GroupView, 'measuredBy'>): string {
  if (measuredBy === 'estimate') return phrase('No circuit: the weight of this group is estimated from another group.')
  if (measuredBy === 'ticket') return phrase('No circuit: the weight of this group is known from scale tickets only.')
  return phrase('No circuit is recorded for this group, so it has no calibration line.')
}

/** What the figures of a group mean, said of its own. */
function exampleOf({ name, limitLb, uLimitLb, loadTo }: GroupView, { weight, say }: Measures): string | null {
  if (loadTo === null) return null
  const limit = phrase('the limit of {name} is {limitLb}', { name, limitLb: weight.text(limitLb) })
  if (!('psi' in loadTo))
    return phrase('{limit}; no pressure to load to can be given: {why}', { limit, why: loadTo.why })
  const known =
    uLimitLb === null
      ? ''
      : phrase(', where a weight by its line is good to {uLimitLb}', { uLimitLb: weight.plusMinus(uLimitLb) })
  return phrase('{limit}{known}. Loaded to {psi} and no more, it is surely under.', {
    limit,
    known,
    psi: say.loadTo(loadTo.psi),
  })
}

function GroupFigures({ group, asOf }: { group: GroupView; asOf: string }) {
  const { weight, slope, times } = useMeasures()
  const say = useSay()
  const { trust, calibratedAt, ageDays, dueOn, uLimitLb, limitOff, toleranceLb, loadTo, limitLb, limitRecorded } = group
  const due = trust === null ? null : nextDue(trust, dueOn)
  const line = group.calibrations.find(({ current }) => current)?.line
  return (
    <Facts
      as="lines"
      className="group-facts"
      facts={[
        [
          phrase('Limit'),
          <>
            {weight.text(limitLb)} {!limitRecorded && <span className="quiet">{phrase('federal, none recorded')}</span>}
          </>,
        ],
        loadTo && [
          phrase('Load to'),
          'psi' in loadTo ? (
            <>
              <strong>{say.loadTo(loadTo.psi)}</strong>{' '}
              <span className="quiet">{phrase('surely under its limit there')}</span>
            </>
          ) : (
            loadTo.why
          ),
        ],
        uLimitLb !== null && [
          phrase('At limit'),
          <>
            {weight.plusMinus(uLimitLb)}{' '}
            <span className="quiet">
              {phrase('{limitOff}{toleranceLb} tolerated', {
                limitOff:
                  limitOff === null
                    ? '95 %, '
                    : phrase(
                        'good to so much by this line, which lies {offLb} {offLb2} the best weight ({uLb}, 95 %); ',
                        {
                          offLb: weight.estimate(Math.abs(limitOff.offLb)),
                          offLb2: limitOff.offLb > 0 ? phrase('above') : phrase('below'),
                          uLb: weight.plusMinus(limitOff.uLb),
                        },
                      ),
                toleranceLb: weight.estimate(toleranceLb),
              })}
            </span>
          </>,
        ],
        line && [
          phrase('Line'),
          phrase('weight = {estimate} + {text} × pressure', {
            estimate: weight.estimate(line.a),
            text: slope.text(line.b),
          }),
        ],
        [
          phrase('Calibrated'),
          calibratedAt === null ? (
            phrase('never')
          ) : (
            <>
              {times.moment(calibratedAt)}{' '}
              <span className="quiet">{phrase('{count} d ago', { count: count(ageDays ?? 0) })}</span>
            </>
          ),
        ],
        due !== null && [
          phrase('Due'),
          <>
            {sayDue(due)}{' '}
            <span className="quiet">
              {due === 'now' ? phrase('its line is {trust}', { trust: trust && word(trust) }) : times.away(due, asOf)}
            </span>
          </>,
        ],
      ]}
    />
  )
}

const liftWords = {
  raised: phrase('Raised'),
  lowered: phrase('Lowered'),
  both: phrase('Mixed: weighs in neither state'),
} as const

/** The lines of a group that has one for each state of its lift axle: each is trusted and due for itself. */
function LiftStandings({ standings }: Pick<GroupView, 'standings'>) {
  const { weight, times } = useMeasures()
  const say = useSay()
  if (standings.length < 2) return null
  return (
    <Section level={3} title={phrase('A line for each lift state')}>
      <SheetTable
        rows={standings}
        keyOf={({ calibrationId }) => calibrationId}
        columns={[
          [phrase('Lift axle'), ({ lift }) => (lift === null ? phrase('Any') : liftWords[lift])],
          [phrase('Trust'), ({ trust }) => trust],
          [phrase('Calibrated'), ({ calibratedAt }) => times.moment(calibratedAt), 'nowrap'],
          [phrase('Due'), ({ trust, dueOn }) => sayDue(nextDue(trust, dueOn)), 'nowrap'],
          [
            phrase('Load to'),
            ({ loadTo }) =>
              'psi' in loadTo ? say.loadTo(loadTo.psi) : <span title={loadTo.why}>{phrase('none')}</span>,
            'figure',
          ],
          [
            phrase('At limit, 95 %'),
            ({ uLimitLb }) => (uLimitLb === null ? null : weight.plusMinus(uLimitLb)),
            'figure',
          ],
        ]}
      />
    </Section>
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
  useHelpExample(exampleOf(group, useMeasures()))
  return (
    <div id="group-panel" role="tabpanel" aria-labelledby={`group-tab-${group.id}`} className="group-panel">
      {group.sensed ? (
        <>
          <GroupFigures group={group} asOf={asOf} />
          {group.weighNext !== null && <p className="group-next">{group.weighNext}</p>}
          <LiftStandings standings={group.standings} />
          <LineView key={group.id} group={group} />
          <NotForTrade />
          {group.track && (
            <>
              <TrackView group={group} track={group.track} events={events} asOf={asOf} />
              <CheckView track={group.track} name={group.name} asOf={asOf} />
            </>
          )}
          <SumList sums={group.sums} name={group.name} />
          <AsFoundList group={group} />
          <h3>{phrase('Calibrations')}</h3>
          <CalibrationList calibrations={group.calibrations} />
          <p>
            <a href={hrefOf('calibrate', unit, { group: group.name })}>{phrase('Calibrate from tickets on record')}</a>
          </p>
        </>
      ) : (
        <>
          <p>{measureSentence(group)}</p>
          <GroupFigures group={group} asOf={asOf} />
        </>
      )}
      <h3>{phrase('Circuits and sensors')}</h3>
      <CircuitList circuits={group.circuits} asOf={asOf} />
    </div>
  )
}
