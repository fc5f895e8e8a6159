import type { GroupView, TrackView, UnitSheetView } from '#core/contracts/unit.ts'
import { nextDue } from '#core/findings/next-due.ts'
import { noonOf, storedDay } from '#core/words/day.ts'
import { phrase } from '#core/words/phrase.ts'
import { niceStep } from '#renderer/parts/round-steps.ts'

export type CheckView = TrackView['lives'][number]['checks'][number]
type Event = UnitSheetView['events'][number]
/** When a line changed that was not said to, and how surely. */
export type LineChange = NonNullable<TrackView['lives'][number]['change']>

/**
 * A check counts as the slip that explains it, else as missed, else as part of the present alarm, else as an ordinary
 * one.
 */
export type CheckKind = 'slip' | 'missed' | 'alarm' | 'check'

interface InLife {
  readonly life: number
  readonly weightLb: number
  readonly u: number
}

/** One thing that the track chart shows at a time, and its table lists. */
export type Happening =
  | ({ readonly what: 'calibration'; readonly lineLb: number } & InLife)
  | ({ readonly what: 'check'; readonly kind: CheckKind; readonly check: CheckView } & InLife)
  | ({ readonly what: 'end'; readonly why: 'replaced' | 'broken' | 'today' } & InLife)
  | { readonly what: 'change'; readonly change: LineChange }
  | { readonly what: 'event'; readonly event: Event; readonly breaks: boolean }
  | { readonly what: 'forecast'; readonly lineLb: number; readonly u: number }

export interface Instant {
  readonly at: number
  readonly happenings: readonly Happening[]
}

export interface TrackSeries {
  readonly fixedPsi: number
  readonly toleranceLb: number
  /** What each line reads at the fixed pressure, with the time it was in use, oldest first. */
  readonly lines: readonly {
    readonly lineLb: number
    readonly from: number
    readonly to: number
    readonly broken: boolean
  }[]
  /** The 95 % intervals in which lines changed. */
  readonly spans: readonly { readonly from: number; readonly until: number }[]
  /** Everything that happened, in order of time. */
  readonly instants: readonly Instant[]
  /** When the group must be calibrated again: end of the axis where it lies ahead. */
  readonly due: { readonly on: string; readonly at: number } | null
  readonly asOf: number
  readonly from: number
  readonly to: number
  readonly lowLb: number
  readonly highLb: number
}

export type Track = NonNullable<GroupView['track']>

export const kindOfCheck = (check: CheckView, inAlarm: boolean): CheckKind =>
  check.slip !== null ? 'slip' : check.missed ? 'missed' : inAlarm ? 'alarm' : 'check'

const changeOf = ({ change }: Track['lives'][number]): [number, Happening][] =>
  change === null ? [] : [[Date.parse(change.at), { what: 'change', change }]]

function lifeHappenings(life: Track['lives'][number], place: number): [number, Happening][] {
  const [start, ...rest] = life.states
  const end = rest.at(-1)
  if (!start || !end) return []
  const inLife = ({ weightLb, u }: typeof start): InLife => ({ life: place, weightLb, u })
  const why = life.brokenAt !== null ? 'broken' : life.endedAt !== null ? 'replaced' : 'today'
  return [
    [Date.parse(start.at), { what: 'calibration', lineLb: life.lineLb, ...inLife(start) }],
    ...life.checks.map((check, i): [number, Happening] => [
      Date.parse(check.at),
      {
        what: 'check',
        check,
        kind: kindOfCheck(check, life.alarmFrom !== null && i >= life.alarmFrom),
        ...inLife(rest[i] ?? end),
      },
    ]),
    ...changeOf(life),
    [Date.parse(end.at), { what: 'end', why, ...inLife(end) }],
  ]
}

/** The forecast as far as the due date, where it is cut: the variance grows in a straight line between its points. */
function forecastUntil(forecast: Track['forecast'], dueAt: number): { at: number; u: number }[] {
  const points = forecast.map(({ at, u }) => ({ at: Date.parse(at), u }))
  const later = points.findIndex(({ at }) => at > dueAt)
  if (later === -1) return points
  const [before, after] = [points[later - 1], points[later]]
  if (!before || !after) return []
  const share = (dueAt - before.at) / (after.at - before.at)
  return [
    ...points.slice(0, later),
    { at: dueAt, u: Math.sqrt(before.u ** 2 + share * (after.u ** 2 - before.u ** 2)) },
  ]
}

/** What broke a line when no event says so: a sensor that came onto one of the group's circuits. */
function sensorMounted({ name, circuits }: Pick<GroupView, 'name' | 'circuits'>, at: number): Event {
  const found = circuits
    .flatMap((circuit) => circuit.sensors.map((sensor) => ({ circuit: circuit.name, sensor })))
    .find(({ sensor }) => Date.parse(sensor.mountedAt) === at)
  return {
    group: name,
    circuit: found?.circuit ?? null,
    happenedAt: new Date(at).toISOString(),
    kind: 'sensor swapped',
    note: found ? phrase('sensor {serial} mounted', { serial: found.sensor.serial }) : null,
  }
}

function byInstant(pairs: readonly [number, Happening][]): Instant[] {
  const found = new Map<number, Happening[]>()
  for (const [at, happening] of pairs) found.set(at, [...(found.get(at) ?? []), happening])
  return [...found].map(([at, happenings]) => ({ at, happenings })).sort((a, b) => a.at - b.at)
}

/**
 * Weights that the chart must hold: tracks with their bands, lines, the tolerance, and every check that is not wildly
 * off.
 */
function weightRange(track: Track, happenings: readonly Happening[]): [number, number] {
  const current = track.lives.at(-1)?.lineLb ?? 0
  const needed = happenings.flatMap((happening) => {
    if (happening.what === 'event' || happening.what === 'change') return []
    if (happening.what === 'forecast') return [happening.lineLb - 2 * happening.u, happening.lineLb + 2 * happening.u]
    return [happening.weightLb - 2 * happening.u, happening.weightLb + 2 * happening.u]
  })
  const all = [
    ...needed,
    ...track.lives.map(({ lineLb }) => lineLb),
    current - 1.15 * track.toleranceLb,
    current + 1.15 * track.toleranceLb,
  ]
  const [low, high] = [Math.min(...all), Math.max(...all)]
  const reach = 1.5 * track.toleranceLb
  const checks = happenings
    .flatMap((happening) =>
      happening.what === 'check' && happening.kind !== 'slip' ? [happening.check.atFixedLb] : [],
    )
    .filter((weightLb) => weightLb > low - reach && weightLb < high + reach)
  const [least, most] = [Math.min(low, ...checks), Math.max(high, ...checks)]
  const step = niceStep(most - least, 6) / 2
  return [Math.floor(least / step) * step, Math.ceil(most / step) * step]
}

/**
 * What the track's chart and table both draw from. `events` are those of the unit: only the group's own and the whole
 * unit's count.
 */
export function trackSeries(
  track: Track,
  group: Pick<GroupView, 'name' | 'trust' | 'dueOn' | 'circuits'>,
  events: readonly Event[],
  asOf: string,
  zone: string,
): TrackSeries {
  const now = Date.parse(asOf)
  const current = track.lives.at(-1)
  const breaks = new Set(track.lives.flatMap(({ brokenAt }) => (brokenAt === null ? [] : [Date.parse(brokenAt)])))
  const first = Date.parse(track.lives[0]?.startedAt ?? asOf)
  const runsOut = group.dueOn === null ? null : { on: group.dueOn, at: noonOf(storedDay(group.dueOn), zone) }
  // A group that is to be seen to now has no later day that it is due on.
  const due = group.trust !== null && nextDue(group.trust, group.dueOn) === 'now' ? null : runsOut
  const ahead =
    current && current.brokenAt === null && runsOut !== null && runsOut.at > now
      ? forecastUntil(track.forecast, runsOut.at)
      : []
  const own = events.filter((event) => event.group === null || event.group === group.name)
  const unrecorded = [...breaks].filter((at) => !own.some(({ happenedAt }) => Date.parse(happenedAt) === at))
  const pairs: [number, Happening][] = [
    ...track.lives.flatMap(lifeHappenings),
    ...[...own, ...unrecorded.map((at) => sensorMounted(group, at))]
      .map((event): [number, Happening] => [
        Date.parse(event.happenedAt),
        { what: 'event', event, breaks: breaks.has(Date.parse(event.happenedAt)) },
      ])
      .filter(([at]) => at >= first && at <= now),
    ...ahead.map(({ at, u }): [number, Happening] => [at, { what: 'forecast', lineLb: current?.lineLb ?? 0, u }]),
  ]
  const [lowLb, highLb] = weightRange(
    track,
    pairs.map(([, happening]) => happening),
  )
  const to = Math.max(now, ahead.at(-1)?.at ?? now)
  const room = (to - first) * 0.015
  return {
    fixedPsi: track.fixedPsi,
    toleranceLb: track.toleranceLb,
    due,
    asOf: now,
    lowLb,
    highLb,
    from: first - room,
    to: to + room,
    instants: byInstant(pairs),
    spans: track.lives.flatMap(({ change }) =>
      change === null ? [] : [{ from: Date.parse(change.from), until: Date.parse(change.until) }],
    ),
    lines: track.lives.map(({ lineLb, startedAt, endedAt, brokenAt }) => ({
      lineLb,
      broken: brokenAt !== null,
      from: Date.parse(startedAt),
      to: Math.min(...[brokenAt, endedAt, asOf].flatMap((end) => (end === null ? [] : [Date.parse(end)]))),
    })),
  }
}
