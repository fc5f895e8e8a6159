import { useElementSize } from '@mantine/hooks'
import type { KeyboardEvent } from 'react'
import type { GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { FeetScale, feetSpan } from '#renderer/parts/feet-scale.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { TrustMark } from '#renderer/parts/marks.tsx'
import { trustMeanings } from '#renderer/parts/record-text.ts'
import { phrase } from '#core/words/phrase.ts'
import { axleWord, roleWord } from '../group-panel.tsx'
import './axle-ruler.css'

export interface PlacedGroup {
  readonly group: GroupView
  /** Positions that are known, ft from the datum; empty when the first axle's is not. */
  readonly axlesFt: readonly number[]
  /** What is not known about the positions, or null. */
  readonly unknown: string | null
}

/** Where a group's axles stand, as far as the record tells. */
export function placeGroup(group: GroupView): PlacedGroup {
  const { firstAxleFt, axleSpacingFt, axles } = group
  if (firstAxleFt === null) return { group, axlesFt: [], unknown: phrase('position unknown') }
  if (axles > 1 && axleSpacingFt === null)
    return { group, axlesFt: [firstAxleFt], unknown: phrase('spacing unknown, first axle shown') }
  return {
    group,
    axlesFt: Array.from({ length: axles }, (_, axle) => firstAxleFt + axle * (axleSpacingFt ?? 0)),
    unknown: null,
  }
}

/** Left edges of labels of one width, each as near its centre as its neighbours and the frame allow, in order. */
export function spreadLabels(centres: readonly number[], labelWidth: number, room: number, gap = 8): number[] {
  const lefts: number[] = []
  for (const centre of centres) {
    const before = lefts.at(-1)
    lefts.push(Math.max(0, centre - labelWidth / 2, before === undefined ? 0 : before + labelWidth + gap))
  }
  let edge = room
  for (let i = lefts.length - 1; i >= 0; i -= 1) {
    lefts[i] = Math.max(0, Math.min(lefts[i] as number, edge - labelWidth))
    edge = (lefts[i] as number) - gap
  }
  return lefts
}

const datumOf = (kind: UnitSheetView['unit']['kind']): string =>
  kind === 'trailer' ? phrase('kingpin') : phrase('front axle')

const roadPx = 30
const barPx = 48
const rulerPx = 76
const tabPx = 196

interface AxleRulerProps {
  unit: UnitSheetView['unit']
  groups: readonly GroupView[]
  chosen: GroupView | undefined
  onChoose: (group: GroupView) => void
}

function FifthWheel({ x }: { x: number }) {
  return (
    <>
      <path d={`M${x - 6} ${roadPx - 9}h12l-6 8Z`} fill="var(--t-surface)" stroke="var(--t-ink)" strokeWidth="1.4" />
      <text x={x + 9} y={roadPx + 13} className="ruler-number">
        {phrase('fifth wheel')}
      </text>
    </>
  )
}

function GroupBar({
  placed: { axlesFt, unknown },
  x,
  chosen,
  labelCentre,
}: {
  placed: PlacedGroup
  x: (ft: number) => number
  chosen: boolean
  labelCentre: number
}) {
  const first = x(axlesFt[0] ?? 0)
  const last = x(axlesFt.at(-1) ?? 0)
  const middle = (first + last) / 2
  return (
    <g className="ruler-group" data-chosen={chosen || undefined}>
      {axlesFt.map((ft) => (
        <path key={ft} d={`M${x(ft)} ${roadPx - 13}V${barPx + 4}`} className="ruler-axle" />
      ))}
      <rect
        x={first - 11}
        y={barPx}
        width={last - first + 22}
        height={9}
        className="ruler-bar"
        strokeDasharray={unknown ? '3 3' : undefined}
      />
      <path d={`M${middle} ${barPx + 9}V${barPx + 15}H${labelCentre}V${rulerPx}`} className="ruler-lead" />
    </g>
  )
}

function positionsInWords(
  unit: UnitSheetView['unit'],
  groups: readonly PlacedGroup[],
  text: (ft: number) => string,
): string {
  const parts = groups.map(
    ({ group, axlesFt, unknown }) =>
      `${group.name} ${axlesFt.map(text).join(phrase(' and '))}${unknown ? ` ${unknown}` : ''}`,
  )
  const wheel =
    unit.fifthWheelFt === null ? '' : phrase('; fifth wheel {fifthWheelFt}', { fifthWheelFt: text(unit.fifthWheelFt) })
  return phrase('Axle positions behind the {kind}: {parts}{wheel}.', {
    kind: datumOf(unit.kind),
    parts: parts.join('; '),
    wheel,
  })
}

/**
 * The unit from the side as a scale in feet or meters: axles at their true positions, a bar for each group, and below
 * each bar the group itself to choose.
 */
export function AxleRuler({ unit, groups, chosen, onChoose }: AxleRulerProps) {
  const { ref, width } = useElementSize()
  const { weight, length } = useMeasures()
  const placed = groups.map(placeGroup)
  const known = placed
    .filter(({ axlesFt }) => axlesFt.length > 0)
    .sort((a, b) => (a.axlesFt[0] ?? 0) - (b.axlesFt[0] ?? 0))
  const lost = placed.filter(({ axlesFt }) => axlesFt.length === 0)
  const inOrder = [...known, ...lost]
  const span = feetSpan(
    [...known.flatMap(({ axlesFt }) => axlesFt), ...(unit.fifthWheelFt === null ? [] : [unit.fifthWheelFt])],
    length,
  )
  const roadWidth = width - lost.length * (tabPx + 8)
  const x = (ft: number) => 12 + ((ft - span.fromFt) / (span.toFt - span.fromFt)) * (roadWidth - 24)
  const centreOf = ({ axlesFt }: PlacedGroup) => (x(axlesFt[0] ?? 0) + x(axlesFt.at(-1) ?? 0)) / 2
  const tabWidth = Math.min(tabPx, Math.max(90, (width - 8 * (groups.length - 1)) / Math.max(1, groups.length)))
  const lefts = spreadLabels(
    [...known.map(centreOf), ...lost.map((_, i) => roadWidth + i * (tabPx + 8) + tabPx / 2)],
    tabWidth,
    width,
  )

  const onKeyDown = (event: KeyboardEvent) => {
    const at = inOrder.findIndex(({ group }) => group === chosen)
    const next = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: inOrder.length - 1 }[event.key]
    if (next === undefined) return
    event.preventDefault()
    const target = inOrder[(next + inOrder.length) % inOrder.length]
    if (!target) return
    onChoose(target.group)
    document.getElementById(`group-tab-${target.group.id}`)?.focus()
  }
  // Of the ruler: paper may be narrower than the window that it was measured in.
  const share = (px: number) => `${(100 * px) / width}%`

  return (
    <div ref={ref} className="ruler">
      {width > 0 && (
        <>
          <svg
            className="ruler-drawing"
            width={width}
            height={rulerPx}
            viewBox={`0 0 ${width} ${rulerPx}`}
            role="img"
            aria-label={positionsInWords(unit, placed, length.text)}
          >
            {known.length > 0 && <FeetScale span={span} x={x} y={roadPx} zero={datumOf(unit.kind)} />}
            {known.map((group, i) => (
              <GroupBar
                key={group.group.id}
                placed={group}
                x={x}
                chosen={group.group === chosen}
                labelCentre={(lefts[i] ?? 0) + tabWidth / 2}
              />
            ))}
            {unit.fifthWheelFt !== null && known.length > 0 && <FifthWheel x={x(unit.fifthWheelFt)} />}
          </svg>
          <div className="ruler-tabs" role="tablist" aria-label={phrase('Axle groups')} onKeyDown={onKeyDown}>
            {inOrder.map(({ group, unknown }, i) => (
              <button
                key={group.id}
                title={group.trust === null ? undefined : trustMeanings[group.trust]}
                type="button"
                role="tab"
                id={`group-tab-${group.id}`}
                aria-controls="group-panel"
                aria-selected={group === chosen}
                tabIndex={group === chosen ? 0 : -1}
                className="ruler-tab"
                style={{ left: share(lefts[i] ?? 0), width: share(tabWidth) }}
                onClick={() => onChoose(group)}
              >
                <span className="ruler-name">
                  {group.name}{' '}
                  <span className="quiet">{[roleWord(group), axleWord(group.axles)].filter(Boolean).join(', ')}</span>
                </span>
                <span className="ruler-facts">
                  <TrustMark trust={group.trust} />
                  <span>{weight.text(group.limitLb)}</span>
                </span>
                {unknown && <span className="quiet">{unknown}</span>}
              </button>
            ))}
          </div>
        </>
      )}
    </div>
  )
}
