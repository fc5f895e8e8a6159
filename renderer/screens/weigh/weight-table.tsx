import type { WeighPreview } from '#core/contracts/weigh.ts'
import { type CombinationWeights, type JudgedGroup, cargoAt, loadToOf } from '#core/weight/combination-weights.ts'
import type { Judgement } from '#core/weight/verdict.ts'
import type { GroupWeighing, WeighedGroup } from '#core/weight/weigh.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import { word } from '#core/words/listed-words.ts'
import type { LiftState } from '#core/words/vocabulary.ts'
import { sayNoLoad } from '#core/words/sentences/load-to.ts'
import {
  provisionalEstimateWords,
  provisionalWords,
  sayTwoWeights,
  sayThin,
} from '#core/words/sentences/two-weights.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { type Measures, chance, useMeasures, useSay } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { TrustMark, VerdictMark } from '#renderer/parts/marks.tsx'
import { SheetHead } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

/** How a weight was come by, where it is not the group's own line. */
const sourceWords: Record<WeighedGroup['source'], string | null> = {
  line: null,
  provisional: null,
  estimate: phrase('estimated from the drive group'),
  ticket: phrase('from the ticket'),
  raised: phrase('raised: carries nothing'),
}

interface WeightTableProps {
  ready: ReadyCombination
  weights: CombinationWeights
  trusts: WeighPreview['trusts']
  takenAt: number
  lift: LiftState | null
  /** The moment that the pressures to load to are of, ms UTC. */
  now: number
}

/** What can still go on, or by how much the limit is passed; what the margin adds stands apart. */
function Room({ weightLb, judgement: { limitLb, roomLb, isThin } }: { weightLb: number; judgement: Judgement }) {
  const { weight } = useMeasures()
  if (isThin) return <span className="quiet">{phrase('not known')}</span>
  if (roomLb >= 0) return weight.estimate(roomLb)
  const excessLb = weightLb - limitLb
  const withMargin = weight.estimate(-roomLb)
  if (excessLb <= 0)
    return (
      <Phrase
        text="over by {withMargin}, <span>margin included</span>"
        with={{ withMargin, span: (words) => <span className="quiet">{words}</span> }}
      />
    )
  return (
    <Phrase
      text="over by {excessLb}{br}<span>by {withMargin}, margin included</span>"
      with={{
        excessLb: weight.estimate(excessLb),
        br: <br />,
        span: (words) => <span className="quiet">{words}</span>,
        withMargin,
      }}
    />
  )
}

/** Verdict, chance and room, the same for a group, the gross weight and a bridge set. */
export function JudgementCells({ weightLb, judgement }: { weightLb: number; judgement: Judgement }) {
  const { verdict, pOver } = judgement
  return (
    <>
      <td className="nowrap" data-label={phrase('Verdict')}>
        <VerdictMark verdict={verdict} />
      </td>
      <td className="figure" data-label={phrase('Chance over')}>
        {chance(pOver)}
      </td>
      <td className="figure" data-label={phrase('Room left')}>
        <Room weightLb={weightLb} judgement={judgement} />
      </td>
    </>
  )
}

/** Why a group has no weight; that its pressure is still to be typed is nothing to be alarmed about. */
function Unweighed({ weighing }: { weighing: GroupWeighing }) {
  const say = useSay()
  if (weighing.weighed) return <td colSpan={7} />
  const waits = weighing.reason === 'no pressure' || weighing.reason === 'no estimate'
  return (
    <td colSpan={7} className={waits ? 'quiet' : 'weigh-missing'}>
      {sayUnweighed(weighing.why, say)}
    </td>
  )
}

/** What the line read where that is another weight, and what keeps a weight from being sure. */
function WeightNotes({ weighing }: { weighing: WeighedGroup }) {
  const say = useSay()
  const notes = [
    sayTwoWeights(weighing, weighing.byLine, say),
    weighing.isProvisional ? (weighing.source === 'estimate' ? provisionalEstimateWords() : provisionalWords()) : null,
    sayThin(weighing),
  ].filter((note) => note !== null)
  return notes.map((note) => (
    <div key={note} className="quiet">
      {note}
    </div>
  ))
}

/** The pressure to load to today, or why there is none. */
function LoadTo({ weighing, target }: { weighing: WeighedGroup; target: ReturnType<typeof loadToOf> }) {
  const say = useSay()
  if (weighing.psi === null || target === null) return <span className="quiet">{sourceWords[weighing.source]}</span>
  return 'psi' in target ? (
    say.loadTo(target.psi)
  ) : (
    <span title={sayNoLoad(target.why, say)}>{phrase('none: weigh it again')}</span>
  )
}

function GroupRow({
  props: { ready, trusts, lift, now },
  group,
  place,
}: {
  props: WeightTableProps
  group: JudgedGroup
  place: number
}) {
  const { weight } = useMeasures()
  const plan = ready.plan.groups[place] as ReadyCombination['plan']['groups'][number]
  const trust = trusts.find(({ groupId }) => groupId === plan.place.groupId)?.trust
  const unit = ready.units.find(({ unitId }) => unitId === plan.unitId)
  const { weighing, judgement, limitLb } = group
  return (
    <tr>
      <th scope="row">
        <a href={hrefOf('unit', unit?.unit ?? null, { group: plan.place.group })}>{plan.name}</a>
        {trust !== undefined && trust !== 'sound' && (
          <span className="weigh-trust">
            <TrustMark trust={trust} />
          </span>
        )}
        {weighing.weighed && <WeightNotes weighing={weighing} />}
      </th>
      {weighing.weighed && judgement ? (
        <>
          <td className="figure" data-label={phrase('Weight, {weightSymbol}', { weightSymbol: weight.symbol })}>
            {weight.estimateFigure(weighing.weightLb)}
          </td>
          <td className="figure" data-label="95 %">
            {weighing.source === 'raised' ? '' : weight.plusMinusFigure(weighing.uLb)}
          </td>
          <td className="figure" data-label={phrase('Limit, {weightSymbol}', { weightSymbol: weight.symbol })}>
            {weight.figure(limitLb)}
          </td>
          {weighing.source === 'raised' ? (
            <td colSpan={3} className="quiet">
              {sourceWords.raised}
            </td>
          ) : (
            <JudgementCells weightLb={weighing.weightLb} judgement={judgement} />
          )}
          <td className="figure" data-label={phrase('Load to')}>
            <LoadTo weighing={weighing} target={loadToOf(ready, place, lift, now)} />
          </td>
        </>
      ) : (
        <Unweighed weighing={weighing} />
      )}
    </tr>
  )
}

function GrossRow({ weights: { gross, groups } }: { weights: CombinationWeights }) {
  const { weight } = useMeasures()
  const { total, judgement, missing, weighedLb, limitLb, byLine } = gross
  const say = useSay()
  const two = total && sayTwoWeights(total, byLine?.sum ?? null, say)
  return (
    <tr className="weigh-gross">
      <th scope="row">
        {phrase('Gross')}
        {two && <div className="quiet">{two}</div>}
      </th>
      {total && judgement ? (
        <>
          <td className="figure" data-label={phrase('Weight, {weightSymbol}', { weightSymbol: weight.symbol })}>
            {weight.estimateFigure(total.weightLb)}
          </td>
          <td className="figure" data-label="95 %">
            {weight.plusMinusFigure(total.uLb)}
          </td>
          <td className="figure" data-label={phrase('Limit, {weightSymbol}', { weightSymbol: weight.symbol })}>
            {weight.figure(limitLb)}
          </td>
          <JudgementCells weightLb={total.weightLb} judgement={judgement} />
          <td />
        </>
      ) : (
        <td colSpan={7} className="quiet">
          {missing.length === groups.length
            ? phrase('Not known: no group has a weight yet. The limit is {limitLb}.', { limitLb: weight.text(limitLb) })
            : phrase('Not known: {missing} no weight. The others come to {weighedLb} of {limitLb}.', {
                missing:
                  missing.length === 1
                    ? phrase('one group has')
                    : phrase('{missing} groups have', { missing: missing.length }),
                weighedLb: weight.estimate(weighedLb),
                limitLb: weight.text(limitLb),
              })}
        </td>
      )}
    </tr>
  )
}

function Cargo({ props: { ready, weights, takenAt } }: { props: WeightTableProps }) {
  const { weight } = useMeasures()
  const { tare, cargo } = cargoAt(ready, weights, takenAt)
  if (!tare.ok) return <p className="quiet">{tare.problem.message}</p>
  const basis =
    tare.value.basis === 'combination ticket'
      ? phrase('its latest empty ticket')
      : phrase('the sum of the units’ own tares')
  return (
    <p>
      <Phrase
        text="Tare <strong>{weightLb}</strong> <span>({basis})</span>"
        with={{
          strong: (words) => <strong>{words}</strong>,
          weightLb: weight.estimate(tare.value.weight.weightLb),
          span: (words) => <span className="quiet">{words}</span>,
          basis,
        }}
      />
      {cargo && (
        <Phrase
          text=", cargo <strong>{weightLb}</strong> {uLb}"
          with={{
            strong: (words) => <strong>{words}</strong>,
            weightLb: weight.estimate(cargo.weightLb),
            uLb: weight.plusMinus(cargo.uLb),
          }}
        />
      )}
    </p>
  )
}

function SteerChecks({ ready }: { ready: ReadyCombination }) {
  const { weight, length } = useMeasures()
  return ready.units.flatMap(({ unitId, unit }) => {
    const check = ready.steerChecks.get(unitId)
    if (!check) return []
    return [
      <p key={unitId} className={check.disagree ? 'weigh-missing' : 'quiet'}>
        {check.disagree
          ? phrase(
              '{unit}: the steer estimate and the fifth wheel disagree. From empty to full, {tickets} tickets and the fifth wheel’s place differ by {differenceLb} {uDifferenceLb} on the steer axle; the tickets would put the fifth wheel {impliedFifthWheelFt} behind the front axle. Check its position, the axle positions and the tickets.',
              {
                unit,
                tickets: check.tickets,
                differenceLb: weight.estimate(Math.abs(check.differenceLb)),
                uDifferenceLb: weight.plusMinus(check.uDifferenceLb),
                impliedFifthWheelFt: length.text(check.impliedFifthWheelFt),
              },
            )
          : phrase('{unit}: the steer estimate follows {tickets} tickets and agrees with the fifth wheel’s place.', {
              unit,
              tickets: check.tickets,
            })}
      </p>,
    ]
  })
}

/** The first group that has a weight, in a sentence. */
function exampleOf({ ready, weights }: WeightTableProps, { weight }: Measures): string | null {
  const place = weights.groups.findIndex(
    ({ weighing, judgement }) => judgement !== null && weighing.weighed && weighing.source !== 'raised',
  )
  const group = weights.groups[place]
  if (!group?.weighing.weighed || group.judgement === null) return null
  return phrase('{group}: {weightLb} {uLb} against {limitLb}, {verdict}.', {
    group: ready.plan.groups[place]?.name ?? '',
    weightLb: weight.estimate(group.weighing.weightLb),
    uLb: weight.plusMinus(group.weighing.uLb),
    limitLb: weight.text(group.limitLb),
    verdict: word(group.judgement.verdict),
  })
}

/** Every group and the gross weight: how heavy, how sure, against what, and how much more. */
export function WeightTable(props: WeightTableProps) {
  const measures = useMeasures()
  const { weight } = measures
  const { ready, weights } = props
  useHelpExample(exampleOf(props, measures))
  const confidence = ready.plan.rules.verdictConfidencePercent
  return (
    <Section className="weigh-part" title={phrase('Weights')}>
      <table className="sheet-table weigh-table weigh-weights">
        <SheetHead
          heads={[
            [phrase('Group')],
            [phrase('Weight, {weightSymbol}', { weightSymbol: weight.symbol }), 'figure'],
            ['95 %', 'figure'],
            [phrase('Limit, {weightSymbol}', { weightSymbol: weight.symbol }), 'figure'],
            [phrase('Verdict')],
            [phrase('Chance over'), 'figure'],
            [
              phrase('Room left'),
              'figure',
              phrase('So much can still go on and leave it under its limit at {confidence} % confidence', {
                confidence,
              }),
            ],
            [phrase('Load to'), 'figure', phrase('Highest gauge pressure at which the group is still under its limit')],
          ]}
        />
        <tbody>
          {weights.groups.map((group, place) => (
            <GroupRow key={group.weighing.groupId} props={props} group={group} place={place} />
          ))}
          <GrossRow weights={weights} />
        </tbody>
      </table>
      <Cargo props={props} />
      <SteerChecks ready={ready} />
      <p className="quiet">
        {phrase('Verdicts, room and pressures hold at {confidence} % confidence (House Rules).', { confidence })}
      </p>
    </Section>
  )
}
