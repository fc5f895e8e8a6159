import { ByteText } from '#core/exchange/documents/byte-text.ts'
import type { Store } from '#core/store/open.ts'
import { openSpool } from '#core/store/spool.ts'
import { type WeighedReading, type WhichReadings, weighEach } from '#core/store/weigh-each.ts'
import type { SetLayout } from '#core/weight/bridge.ts'
import {
  type BridgeWeights,
  type CombinationWeights,
  type JudgedGroup,
  cargoAt,
  isThinSet,
  loadToOf,
  setExcess,
  setVerdict,
} from '#core/weight/combination-weights.ts'
import { standardNormalCdf } from '#core/line/statistics.ts'
import type { SteerCheck } from '#core/weight/steer.ts'
import { type Judgement, type Verdict, oneSidedFactor } from '#core/weight/verdict.ts'
import type { CombinationReading } from '#core/weight/weigh-combination.ts'
import type { WeighingLine } from '#core/weight/weigh.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { sayStored } from '#core/words/say.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'

/**
 * The JSON of weighed readings, written piece by piece: a million of them are to be printed, and most of each is the
 * same for every reading of a combination. Weights to a tenth of a pound, probabilities to a millionth: finer than any
 * is known.
 */

const json = JSON.stringify
const bytes = (text: string): Uint8Array => Buffer.from(text)
const weightPlaces = 1
const psiPlaces = 2
const probabilityPlaces = 6
/** Beyond so many standard uncertainties a probability is 0 or 1 to the millionth. */
const certain = 5.3

const piece = {
  weight: bytes('"weight_lb":'),
  u: bytes(',"u_lb":'),
  line: bytes(',"line_weight_lb":'),
  uLine: bytes(',"u_line_lb":'),
  noLine: bytes(',"line_weight_lb":null,"u_line_lb":null'),
  provisional: bytes(',"provisional":true'),
  p: bytes(',"p_over":'),
  limit: bytes(',"limit_lb":'),
  room: bytes(',"room_left_lb":'),
  sure: bytes(',"p_over":0,"verdict":"under"}'),
  psi: bytes(',"psi":'),
  target: bytes(',"target_psi":'),
  noWeight: bytes('"weight_lb":null,"u_lb":null,"line_weight_lb":null,"u_line_lb":null'),
  noVerdict: bytes(',"p_over":null,"verdict":null'),
  unweighedSet: bytes('null,"u_lb":null,"line_weight_lb":null,"u_line_lb":null,"p_over":null,"verdict":null}'),
  null: bytes('null'),
  comma: bytes(','),
  end: bytes('}'),
  verdict: {
    under: bytes(',"verdict":"under"'),
    'too close to call': bytes(',"verdict":"too close to call"'),
    over: bytes(',"verdict":"over"'),
  } as Readonly<Record<Verdict, Uint8Array>>,
}

function numberOrNull(out: ByteText, value: number | null, places: number): void {
  if (value === null) out.bytes(piece.null)
  else out.number(value, places)
}

/** A weight by what the lines in use read, beside the best one; below zero: there is none. */
function writeLine(out: ByteText, weightLb: number, uLb: number): void {
  if (uLb < 0) {
    out.bytes(piece.noLine)
    return
  }
  out.bytes(piece.line)
  out.number(weightLb, weightPlaces)
  out.bytes(piece.uLine)
  out.number(uLb, weightPlaces)
}

interface Weighed {
  readonly weightLb: number
  readonly uLb: number
}

function writeWeight(out: ByteText, { weightLb, uLb }: Weighed, byLine: Weighed | null): void {
  out.bytes(piece.weight)
  out.number(weightLb, weightPlaces)
  out.bytes(piece.u)
  out.number(uLb, weightPlaces)
  writeLine(out, byLine?.weightLb ?? 0, byLine?.uLb ?? -1)
}

/** Thin evidence leaves no room to speak of. */
const roomOf = (judgement: Judgement | null): number | null =>
  judgement === null || judgement.isThin === true ? null : judgement.roomLb

function writeJudgement(out: ByteText, limitLb: number, judgement: Judgement | null): void {
  out.bytes(piece.limit)
  out.number(limitLb, weightPlaces)
  if (judgement === null) {
    out.bytes(piece.noVerdict)
    return
  }
  out.bytes(piece.p)
  out.number(judgement.pOver, probabilityPlaces)
  out.bytes(piece.verdict[judgement.verdict])
}

function steerText({
  tickets,
  slopeTickets,
  slopeStatics,
  differenceLb,
  uDifferenceLb,
  z,
  impliedFifthWheelFt,
  disagree,
}: SteerCheck): string {
  return `,"steer_check":${json({
    tickets,
    slope_tickets: slopeTickets,
    slope_statics: slopeStatics,
    difference_lb: differenceLb,
    u_difference_lb: uDifferenceLb,
    z,
    implied_fifth_wheel_ft: impliedFifthWheelFt,
    disagree,
  })}`
}

/** What stays the same for all readings of a combination: head and end of each group. */
interface GroupPieces {
  readonly head: Uint8Array
  readonly steerCheck: Uint8Array
}
const groupPieces = new WeakMap<ReadyCombination, readonly GroupPieces[]>()

function piecesOf(ready: ReadyCombination): readonly GroupPieces[] {
  const known = groupPieces.get(ready)
  if (known) return known
  const unitOf = new Map(ready.units.map(({ unitId, unit }) => [unitId, unit]))
  const made = ready.plan.groups.map(({ unitId, place: { group, role } }): GroupPieces => {
    const check = role === 'steer' ? ready.steerChecks.get(unitId) : undefined
    return {
      head: bytes(`{"unit":${json(unitOf.get(unitId))},"group":${json(group)},`),
      steerCheck: bytes(check ? steerText(check) : ''),
    }
  })
  groupPieces.set(ready, made)
  return made
}

const calibratedTexts = new WeakMap<WeighingLine, Uint8Array>()

function calibratedText(line: WeighingLine): Uint8Array {
  let text = calibratedTexts.get(line)
  if (text === undefined) {
    text = bytes(`,"calibrated_at":"${toStoredInstant(line.calibratedAt)}"`)
    calibratedTexts.set(line, text)
  }
  return text
}

function writeGroup(
  out: ByteText,
  ready: ReadyCombination,
  place: number,
  group: JudgedGroup,
  { lift }: CombinationReading,
  now: number,
): void {
  const { weighing, limitLb, judgement } = group
  const { head, steerCheck } = piecesOf(ready)[place] as GroupPieces
  out.bytes(head)
  if (!weighing.weighed) {
    out.bytes(piece.noWeight)
    writeJudgement(out, limitLb, null)
    const message = sayUnweighed(weighing.why, sayStored(ready.plan.rules.zone))
    out.text(`,"reason":${json(weighing.reason)},"message":${json(message)}}`)
    return
  }
  const { source, psi, line } = weighing
  writeWeight(out, weighing, source === 'ticket' || source === 'raised' ? null : weighing.byLine)
  writeJudgement(out, limitLb, judgement)
  out.bytes(piece.room)
  numberOrNull(out, roomOf(judgement), weightPlaces)
  if (psi !== null) {
    out.bytes(piece.psi)
    out.number(psi, psiPlaces)
    out.bytes(piece.target)
    const target = loadToOf(ready, place, lift, now)
    numberOrNull(out, target !== null && 'psi' in target ? target.psi : null, psiPlaces)
  }
  if (line !== null) out.bytes(calibratedText(line))
  if (weighing.isProvisional) out.bytes(piece.provisional)
  if (weighing.source === 'estimate') out.bytes(steerCheck)
  out.text(`,"source":"${weighing.source}"}`)
}

const grossPiece = {
  tare: bytes(',"tare_lb":'),
  cargo: bytes(',"cargo_lb":'),
  uCargo: bytes(',"u_cargo_lb":'),
  weighed: bytes(',"weighed_lb":'),
  missing: bytes(',"missing":['),
  end: bytes(']}'),
}

function writeGross(out: ByteText, ready: ReadyCombination, weights: CombinationWeights, at: number): void {
  const { limitLb, total, judgement, missing, weighedLb, byLine } = weights.gross
  const { tare, cargo } = cargoAt(ready, weights, at)
  out.text('{')
  if (total) writeWeight(out, total, byLine?.sum ?? null)
  else out.bytes(piece.noWeight)
  writeJudgement(out, limitLb, judgement)
  out.bytes(grossPiece.tare)
  numberOrNull(out, tare.ok ? tare.value.weight.weightLb : null, weightPlaces)
  out.bytes(grossPiece.cargo)
  numberOrNull(out, cargo?.weightLb ?? null, weightPlaces)
  out.bytes(grossPiece.uCargo)
  numberOrNull(out, cargo?.uLb ?? null, weightPlaces)
  out.bytes(piece.room)
  numberOrNull(out, roomOf(judgement), weightPlaces)
  out.bytes(grossPiece.weighed)
  out.number(weighedLb, weightPlaces)
  out.bytes(grossPiece.missing)
  for (const [i, { groupId, reason }] of missing.entries()) {
    if (i > 0) out.bytes(piece.comma)
    const place = ready.plan.groups.findIndex((group) => group.place.groupId === groupId)
    out.bytes((piecesOf(ready)[place] as GroupPieces).head)
    out.text(`"reason":${json(reason)}}`)
  }
  out.bytes(grossPiece.end)
}

/** Heads of bridge sets; the lists of sets are shared by all combinations of one shape. */
const setHeads = new WeakMap<readonly SetLayout[], readonly Uint8Array[]>()

function setHeadsOf(sets: readonly SetLayout[]): readonly Uint8Array[] {
  const known = setHeads.get(sets)
  if (known) return known
  const made = sets.map(({ firstAxle, lastAxle, axles, lengthFt, limitLb, basis, name }, i) =>
    bytes(
      `${i > 0 ? ',' : ''}{"first_axle":${firstAxle},"last_axle":${lastAxle},"axles":${axles},` +
        `"length_ft":${lengthFt},"limit_lb":${limitLb},"basis":${json(basis)},"name":${json(name)},"weight_lb":`,
    ),
  )
  setHeads.set(sets, made)
  return made
}

function writeBridge(out: ByteText, bridge: BridgeWeights, confidencePercent: number): void {
  const { sets, weightsLb, usLb, byLine } = bridge
  const heads = setHeadsOf(sets)
  const factor = oneSidedFactor(confidencePercent)
  for (let i = 0; i < sets.length; i += 1) {
    const weightLb = weightsLb[i] ?? Number.NaN
    const uLb = usLb[i] ?? Number.NaN
    out.bytes(heads[i] as Uint8Array)
    if (uLb < 0) {
      out.bytes(piece.unweighedSet)
      continue
    }
    const excess = setExcess(bridge, i)
    out.number(weightLb, weightPlaces)
    out.bytes(piece.u)
    out.number(uLb, weightPlaces)
    writeLine(out, byLine.weightsLb[i] as number, byLine.usLb[i] as number)
    // Most sets are far under their limit.
    if (excess < -certain && !isThinSet(bridge, i)) out.bytes(piece.sure)
    else {
      out.bytes(piece.p)
      out.number(excess > certain ? 1 : standardNormalCdf(excess), probabilityPlaces)
      out.bytes(piece.verdict[setVerdict(bridge, i, excess, factor)])
      out.bytes(piece.end)
    }
  }
}

/** Writes one reading as the command line's format has it; now: the day of the pressures to load to, ms UTC. */
function writeWeighing(
  out: ByteText,
  name: string,
  ready: ReadyCombination,
  reading: CombinationReading,
  weights: CombinationWeights,
  now: number,
): void {
  const { takenAt, lift } = reading
  out.text(`{"reading":${json(name)},"taken_at":"${toStoredInstant(takenAt)}","lift":${json(lift)},"groups":[`)
  for (const [place, group] of weights.groups.entries()) {
    if (place > 0) out.bytes(piece.comma)
    writeGroup(out, ready, place, group, reading, now)
  }
  out.text('],"gross":')
  writeGross(out, ready, weights, takenAt)
  out.text(',"bridge":[')
  writeBridge(out, weights.bridge, ready.plan.rules.verdictConfidencePercent)
  const { gaps } = ready.plan.bridge(lift).ruler
  out.text(gaps.length === 0 ? ']}' : `],"bridge_gaps":${json(gaps.map(({ message }) => message))}}`)
}

export type WriteWeighed = (out: ByteText, weighed: WeighedReading, now: number) => void

/** A reading as the JSON of the command line's format. */
export const writeJson: WriteWeighed = (out, { reading, ready, weights }, now) =>
  writeWeighing(out, reading.name, ready, reading, weights, now)

/** Some 7 kB of text a reading are held for so many. */
const writtenAtOnce = 1000

/** How readings are written one after the other. */
export interface WrittenList extends WhichReadings {
  readonly write: WriteWeighed
  /** Stands before each but the first. */
  readonly between: string
  /** The day of the pressures to load to, ms UTC. */
  readonly now: number
}

/**
 * Every reading of the record as text, by rising id. They are weighed some units at a time, so the first is handed out
 * when the last is weighed; meanwhile their text lies on the disk. A part is good until the next one is asked for.
 */
export async function* weighedStretches(
  store: Store,
  { write, between, now, ...which }: WrittenList,
): AsyncGenerator<Uint8Array> {
  const out = new ByteText()
  const spool = openSpool(store, writtenAtOnce)
  try {
    const weighed = weighEach(
      store,
      (one): readonly [id: number, from: number, to: number] => {
        const from = out.length
        write(out, one, now)
        return [one.reading.readingId, from, out.length]
      },
      which,
    )
    for await (const spans of weighed) {
      spool.keep(spans.map(([id, from, to]) => [id, out.slice(from, to)]))
      out.clear()
    }
    const separator = Buffer.from(between)
    let isFirst = true
    for (const texts of spool.inOrder()) {
      out.clear()
      for (const text of texts) {
        if (!isFirst) out.bytes(separator)
        out.bytes(text)
        isFirst = false
      }
      yield out.slice()
    }
  } finally {
    spool.remove()
  }
}
