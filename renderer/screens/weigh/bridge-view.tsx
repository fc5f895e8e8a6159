import { useElementSize } from '@mantine/hooks'
import { useState } from 'react'
import { type CombinationWeights, type JudgedSet, judgedSet } from '#core/weight/combination-weights.ts'
import type { Stretch } from '#core/weight/ruler.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import type { LiftState } from '#core/words/vocabulary.ts'
import { FeetScale, feetSpan } from '#renderer/parts/feet-scale.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { Scrolls, SheetHead } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { JudgementCells } from './weight-table.tsx'

const roadPx = 30
const axlePx = 52
const bracketPx = 66
const drawingPx = 92

interface RulerProps {
  stretch: Stretch
  ready: ReadyCombination
  weights: CombinationWeights
  /** Its axles are bracketed where it lies on this stretch. */
  chosen: JudgedSet | undefined
}

/** The axles of a stretch at their true distances, with each group's weight over it and the chosen set bracketed. */
function CombinationRuler({ stretch, ready, weights, chosen }: RulerProps) {
  const { ref, width } = useElementSize()
  const { weight, length } = useMeasures()
  const span = feetSpan(
    stretch.axles.map(({ positionFt }) => positionFt),
    length,
  )
  const x = (ft: number) => 12 + ((ft - span.fromFt) / (span.toFt - span.fromFt)) * (width - 24)
  const groups = [...new Set(stretch.axles.map(({ groupId }) => groupId))].map((groupId) => {
    const place = ready.plan.groups.findIndex((group) => group.place.groupId === groupId)
    const own = stretch.axles.filter((axle) => axle.groupId === groupId).map(({ positionFt }) => positionFt)
    return {
      groupId,
      name: ready.plan.groups[place]?.name ?? '',
      weighing: weights.groups[place]?.weighing,
      first: own[0] as number,
      last: own.at(-1) as number,
    }
  })
  const [from, to] = chosen ? [stretch.axles[chosen.set.firstAxle - 1], stretch.axles[chosen.set.lastAxle - 1]] : []
  const words = groups.map(({ name, weighing, first }) =>
    phrase('{name} at {first}{weighed}', {
      name,
      first: length.text(first),
      weighed: weighing?.weighed ? `, ${weight.estimate(weighing.weightLb)}` : '',
    }),
  )
  return (
    <div ref={ref} className="weigh-ruler">
      {width > 0 && (
        <svg
          width={width}
          height={drawingPx}
          role="img"
          aria-label={phrase('Axles behind the {zero}: {words}.', {
            zero: word(stretch.zero),
            words: words.join('; '),
          })}
        >
          <FeetScale span={span} x={x} y={roadPx} zero={word(stretch.zero)} />
          {stretch.axles.map(({ positionFt }) => (
            <path key={positionFt} d={`M${x(positionFt)} ${roadPx - 13}V${axlePx}`} className="ruler-axle" />
          ))}
          {groups.map(({ groupId, weighing, first, last }) => (
            <text
              key={groupId}
              x={(x(first) + x(last)) / 2}
              y={axlePx + 11}
              textAnchor="middle"
              className="weigh-ruler-weight"
            >
              {weighing?.weighed ? weight.estimate(weighing.weightLb) : phrase('not weighed')}
            </text>
          ))}
          {from && to && (
            <>
              <path d={`M${x(from.positionFt)} ${bracketPx}v8H${x(to.positionFt)}v-8`} className="weigh-bracket" />
              <text
                x={(x(from.positionFt) + x(to.positionFt)) / 2}
                y={bracketPx + 22}
                textAnchor="middle"
                className="ruler-number"
              >
                {length.text(to.positionFt - from.positionFt)}
              </text>
            </>
          )}
        </svg>
      )}
    </div>
  )
}

/** Sets without a weight last, then by what can still go on. */
const tightest = (a: JudgedSet, b: JudgedSet): number =>
  (a.judgement?.roomLb ?? Number.POSITIVE_INFINITY) - (b.judgement?.roomLb ?? Number.POSITIVE_INFINITY)

function SetRow({
  set: { set, sum, judgement },
  chosen,
  onChoose,
}: {
  set: JudgedSet
  chosen: boolean
  onChoose: () => void
}) {
  const { weight, length } = useMeasures()
  return (
    <tr data-current={chosen || undefined}>
      <th scope="row">
        <LinkButton aria-pressed={chosen} onClick={onChoose}>
          {phrase('{firstAxle} to {lastAxle}', { firstAxle: set.firstAxle, lastAxle: set.lastAxle })}
        </LinkButton>
        {set.name && <span className="quiet"> {word(set.name)}</span>}
      </th>
      <td className="figure">{length.text(set.lengthFt)}</td>
      {sum && judgement ? (
        <>
          <td className="figure">{weight.estimateFigure(sum.weightLb)}</td>
          <td className="figure">{weight.plusMinusFigure(sum.uLb)}</td>
          <td className="figure">{weight.figure(set.limitLb)}</td>
          <JudgementCells weightLb={sum.weightLb} judgement={judgement} />
        </>
      ) : (
        <>
          <td colSpan={2} className="quiet">
            {phrase('a group was not weighed')}
          </td>
          <td className="figure">{weight.figure(set.limitLb)}</td>
          <td colSpan={3} />
        </>
      )}
      <td className="quiet nowrap">{word(set.basis)}</td>
    </tr>
  )
}

/** The bridge formula over every set of consecutive axles, the tightest first. */
export function BridgeView({
  ready,
  weights,
  lift,
}: {
  ready: ReadyCombination
  weights: CombinationWeights
  lift: LiftState | null
}) {
  const { weight } = useMeasures()
  const [chosen, setChosen] = useState<string | null>(null)
  const { ruler } = ready.plan.bridge(lift)
  const keyOf = ({ set }: JudgedSet) => `${set.from} ${set.to}`
  const sets = weights.bridge.sets
    .map((_, place) => judgedSet(weights.bridge, place, ready.plan.rules.verdictConfidencePercent))
    .sort(tightest)
  const shown = sets.find((set) => keyOf(set) === chosen) ?? sets[0]
  let axlesBefore = 0
  return (
    <Section
      className="weigh-part"
      title={
        <Phrase
          text="Bridge formula <span>{sets} sets of consecutive axles</span>"
          with={{ span: (words) => <span className="quiet">{words}</span>, sets: count(sets.length) }}
        />
      }
    >
      {ruler.stretches.map((stretch) => {
        const start = axlesBefore
        axlesBefore += stretch.axles.length
        const own = shown && shown.set.from >= start && shown.set.to <= axlesBefore ? shown : undefined
        return <CombinationRuler key={start} stretch={stretch} ready={ready} weights={weights} chosen={own} />
      })}
      {ruler.gaps.map(({ message }) => (
        <p key={message} className="weigh-missing">
          {message}
        </p>
      ))}
      {sets.length > 0 && (
        <Scrolls className="weigh-sets" label={phrase('Sets of axles')}>
          <table className="sheet-table weigh-table">
            <SheetHead
              heads={[
                [phrase('Axles')],
                [phrase('Length'), 'figure'],
                [phrase('Weight, {weightSymbol}', { weightSymbol: weight.symbol }), 'figure'],
                ['95 %', 'figure'],
                [phrase('Limit, {weightSymbol}', { weightSymbol: weight.symbol }), 'figure'],
                [phrase('Verdict')],
                [phrase('Chance over'), 'figure'],
                [phrase('Room left'), 'figure'],
                [phrase('Limit by')],
              ]}
            />
            <tbody>
              {sets.map((set) => (
                <SetRow key={keyOf(set)} set={set} chosen={set === shown} onChoose={() => setChosen(keyOf(set))} />
              ))}
            </tbody>
          </table>
        </Scrolls>
      )}
      <p className="quiet">
        {phrase(
          'A reckoner for the federal formula and these House Rules: the authority’s table, permits and local rules decide.',
        )}
      </p>
    </Section>
  )
}
