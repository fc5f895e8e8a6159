import type { PreparedWeighIn, SaveWeighInInput } from '#core/contracts/weigh-in.ts'
import type { GroupHistory } from '#core/evidence/history.ts'
import { inOneOrder, pairName, platformPairs } from '#core/evidence/one-platform.ts'
import type { WeighInRow } from '#core/findings/weigh-in.ts'
import { liftStateOf, ranges } from '#core/words/vocabulary.ts'
import type { PickUnits } from '#core/contracts/weigh.ts'
import { type Combination, onlyCombination } from '#renderer/parts/combination-picker.tsx'
import type { Draft } from '#renderer/parts/draft.ts'
import { type Measures, type Typed, typedQuantity, typedValue } from '#renderer/parts/format.ts'
import type { Times } from '#renderer/parts/times.ts'
import { phrase } from '#core/words/phrase.ts'

/** One row as typed: a ticket and the pressures of the same moment. */
export interface RowDraft {
  readonly ticket: string
  /** Local date and time as the field gives it. */
  readonly at: string
  readonly gross: string
  readonly lift: string
  /** By group id, or by both of two groups on one platform: see `weightColumns`. */
  readonly weights: Readonly<Record<string, string>>
  /** By circuit id. */
  readonly psi: Readonly<Record<string, string>>
}

/** A visit to the scale as typed. */
export interface VisitDraft extends Combination {
  readonly scale: string
  readonly driver?: string
  readonly lane?: string
  readonly rows: readonly RowDraft[]
  /** Groups by id whose rows are to stay check weighings though they would make a line. */
  readonly checksOnly: readonly number[]
  /** Two groups that stood on one platform, by the key of their column. */
  readonly together?: readonly string[]
}

export const emptyRow: RowDraft = { ticket: '', at: '', gross: '', lift: '', weights: {}, psi: {} }
export const emptyVisit: VisitDraft = {
  lead: null,
  trailers: [],
  scale: '',
  rows: [emptyRow, emptyRow, emptyRow],
  checksOnly: [],
}

/**
 * A visit before anything is typed: what can only be one thing is chosen already. all: the units of the fleet, where
 * they are few.
 */
export function startedVisit(
  { typed, value }: Pick<Draft<VisitDraft>, 'typed' | 'value'>,
  all: PickUnits | undefined,
  scales: readonly string[],
): VisitDraft {
  const [only = '', ...others] = scales
  const scale = value.scale === '' && others.length === 0 ? only : value.scale
  return typed || all === undefined ? { ...value, scale } : { ...value, ...onlyCombination(all), scale }
}

/** The time that a row begins with: now; below a row of another day, that row's, whose minutes are soon changed. */
export function offeredTime(above: RowDraft | undefined, times: Times): string {
  const read = times.read(above?.at ?? '')
  return above !== undefined && read.ok && times.day(read.value) !== times.today()
    ? times.typed(read.value)
    : times.typed(new Date().toISOString())
}

/** A weight that a ticket of the visit may have: of a group, or of two that stood on one platform. */
export interface WeightColumn {
  readonly key: string
  readonly groupIds: readonly [number] | readonly [number, number]
  readonly unit: string
  /** `drive`, or `drive + tag`. */
  readonly group: string
}

/** The pairs of groups that can stand on one platform, front to back, unit by unit. */
export const pairColumns = ({ units }: Pick<PreparedWeighIn, 'units'>): WeightColumn[] =>
  units.flatMap(({ unit, groups }) =>
    platformPairs(groups).map(([one, other]) => ({
      key: `${one.groupId}+${other.groupId}`,
      groupIds: inOneOrder(one.groupId, other.groupId),
      unit,
      group: pairName(one.group, other.group),
    })),
  )

/** The weights to type of a visit: two groups on one platform have one between them. */
export function weightColumns(prepared: PreparedWeighIn, { together = [] }: VisitDraft): WeightColumn[] {
  const pairs = pairColumns(prepared).filter(({ key }) => together.includes(key))
  return prepared.units.flatMap(({ unit, groups }) =>
    groups.flatMap(({ groupId, group }): WeightColumn[] => {
      const pair = pairs.find(({ groupIds }) => groupIds.includes(groupId))
      if (pair === undefined) return [{ key: String(groupId), groupIds: [groupId], unit, group }]
      return pair.key.startsWith(`${groupId}+`) ? [pair] : []
    }),
  )
}

export const liftChoices = [
  { value: '', label: phrase('not noted') },
  { value: 'none', label: phrase('none') },
  { value: 'raised', label: phrase('raised') },
  { value: 'lowered', label: phrase('lowered') },
]

/** Whether the position of lift axles is to be asked for. */
export const hasLiftAxle = ({ units, histories }: Pick<PreparedWeighIn, 'units' | 'histories'>): boolean =>
  units.some(({ groups }) => groups.some(({ group }) => /lift|tag|pusher/i.test(group))) ||
  histories.some(({ role }) => role === 'lift')

const isFilled = (text: string | undefined) => (text ?? '').trim() !== ''
/** Whether anything of a row was typed; one that is still empty counts for nothing. */
const isTyped = ({ ticket, gross, weights, psi }: RowDraft): boolean =>
  [ticket, gross, ...Object.values(weights), ...Object.values(psi)].some(isFilled)
/** Whether of a row that something was typed of only pressures were. */
const isAlone = ({ ticket, gross, weights }: RowDraft): boolean =>
  ![ticket, gross, ...Object.values(weights)].some(isFilled)

/**
 * A row read: its fields with what is wrong with them, and the row for judging once its time is known and it has a
 * ticket.
 */
export interface ReadRow {
  readonly draft: RowDraft
  /** `reading`: pressures without a ticket. */
  readonly typed: 'ticket' | 'reading' | null
  readonly gross: Typed
  readonly weights: ReadonlyMap<string, Typed>
  readonly psi: ReadonlyMap<number, Typed>
  readonly at: number | null
  /** Why what is typed is no time; null where nothing is typed, or one is. */
  readonly noTime: string | null
  readonly row: WeighInRow | null
}

/** Reads the typed rows against the units that they are about. Numbers without a unit are in the measures in use. */
export function readRows(
  visit: VisitDraft,
  prepared: PreparedWeighIn,
  { weight, pressure, times }: Measures,
): ReadRow[] {
  const { rows, scale } = visit
  const { histories, scales } = prepared
  const chosen = scales.find(({ name }) => name === scale)
  const columns = weightColumns(prepared, visit)
  return rows.map((draft): ReadRow => {
    const weights = new Map(
      columns.map(({ key }) => [key, typedQuantity(draft.weights[key] ?? '', ranges.weightLb, weight)]),
    )
    const psi = new Map(
      histories.flatMap(({ circuits }) =>
        circuits.map(
          ({ circuitId }) => [circuitId, typedQuantity(draft.psi[circuitId] ?? '', ranges.psi, pressure)] as const,
        ),
      ),
    )
    const gross = typedQuantity(draft.gross, ranges.grossLb, weight)
    const read = times.read(draft.at)
    const time = read.ok ? Date.parse(read.value) : null
    const typed = !isTyped(draft) ? null : isAlone(draft) ? 'reading' : 'ticket'
    const row: WeighInRow | null =
      typed !== 'ticket' || time === null || !chosen
        ? null
        : {
            ticket: draft.ticket.trim(),
            weighedAt: time,
            scaleId: chosen.scaleId,
            grossLb: typedValue(gross),
            elevationFt: chosen.elevationFt,
            lift: liftStateOf(draft.lift),
            weightsLb: new Map(
              columns.flatMap(({ key, groupIds }) => {
                const lb = typedValue(weights.get(key) as Typed)
                return groupIds.length === 2 || lb === null ? [] : [[groupIds[0], lb] as const]
              }),
            ),
            together: columns.flatMap(({ key, groupIds }) => {
              const weightLb = typedValue(weights.get(key) as Typed)
              return groupIds.length === 1 || weightLb === null ? [] : [{ groupIds, weightLb }]
            }),
            psi: new Map(
              histories.map(({ groupId, circuits }) => [
                groupId,
                circuits.map(({ circuitId }) => typedValue(psi.get(circuitId) as Typed)),
              ]),
            ),
          }
    return {
      draft,
      typed,
      gross,
      weights,
      psi,
      at: time,
      row,
      noTime: draft.at === '' || read.ok ? null : read.message,
    }
  })
}

/** The groups that have two rows or more with weight and pressure, and that nobody keeps as checks. */
export function toCalibrate(
  histories: readonly GroupHistory[],
  rows: readonly ReadRow[],
  { checksOnly }: VisitDraft,
): number[] {
  return histories.flatMap(({ groupId }) => {
    const points = rows.filter(
      ({ row }) => row?.weightsLb.has(groupId) && (row.psi.get(groupId) ?? []).some((psi) => psi !== null),
    )
    return points.length >= 2 && !checksOnly.includes(groupId) ? [groupId] : []
  })
}

/** What keeps a visit from being saved, as a sentence; null when nothing does. nameOf: what a row is called. */
export function visitProblem(
  draft: VisitDraft,
  rows: readonly ReadRow[],
  nameOf = (place: number): string => phrase('Row {row}', { row: place + 1 }),
): string | null {
  if (rows.every(({ typed }) => typed === null))
    return phrase('Type at least one ticket, or the pressures of a reading.')
  if (draft.scale === '' && rows.some(({ typed }) => typed === 'ticket'))
    return phrase('Choose the scale that the tickets come from.')
  for (const [i, row] of rows.entries()) {
    if (row.typed === null) continue
    if ([row.gross, ...row.weights.values(), ...row.psi.values()].some(({ kind }) => kind === 'problem'))
      return phrase('{row} has a value that is not accepted; its field says which is.', { row: nameOf(i) })
    if (row.typed === 'ticket' && row.draft.ticket.trim() === '')
      return phrase('{row} has no ticket number.', { row: nameOf(i) })
    if (row.noTime !== null) return phrase('{row}: {noTime}', { row: nameOf(i), noTime: row.noTime })
    if (row.at === null) return phrase('{row} has no date and time.', { row: nameOf(i) })
    const { weightsLb, together = [], grossLb = null } = row.row ?? {}
    if (weightsLb?.size === 0 && together.length === 0 && grossLb === null)
      return phrase('{row} has no weight: a ticket carries a gross weight or the weight of a group.', {
        row: nameOf(i),
      })
  }
  return null
}

/** The visit as it is saved. */
export function asInput(
  draft: VisitDraft,
  rows: readonly ReadRow[],
  { units, histories, scales }: PreparedWeighIn,
  calibrate: readonly number[],
  { localZone, namesDrivers }: { readonly localZone: string; readonly namesDrivers: boolean },
): Omit<SaveWeighInInput, 'by'> {
  const names = new Map(
    units.flatMap(({ unit, groups }) => groups.map(({ groupId, group }) => [groupId, { unit, group }] as const)),
  )
  const nameOf = (groupId: number) => names.get(groupId) as { unit: string; group: string }
  const scale = scales.find(({ name }) => name === draft.scale)
  const driver = (namesDrivers && draft.driver?.trim()) || null
  const lane = draft.lane?.trim() || null
  const pressuresOf = ({ psi }: ReadRow) =>
    histories.flatMap(({ groupId, circuits }) =>
      circuits.flatMap(({ circuitId, name }) => {
        const value = typedValue(psi.get(circuitId) as Typed)
        return value === null ? [] : [{ ...nameOf(groupId), circuit: name, psi: value }]
      }),
    )
  return {
    units: units.map(({ unit }) => unit),
    scale: scale?.name ?? null,
    localZone,
    calibrate: calibrate.map(nameOf),
    tickets: rows.flatMap((read) => {
      const {
        row,
        draft: { lift },
      } = read
      if (!row) return []
      const pressures = pressuresOf(read)
      return [
        {
          ticket: row.ticket,
          weighedAt: new Date(row.weighedAt).toISOString(),
          grossLb: row.grossLb,
          driver,
          lane,
          weights: Array.from(row.weightsLb, ([groupId, weightLb]) => ({ ...nameOf(groupId), weightLb })),
          together: (row.together ?? []).map(({ groupIds: [one, other], weightLb }) => ({
            unit: nameOf(one).unit,
            groups: [nameOf(one).group, nameOf(other).group] as [string, string],
            weightLb,
          })),
          reading:
            pressures.length === 0
              ? null
              : { elevationFt: null, temperatureF: null, lift: liftStateOf(lift), pressures },
        },
      ]
    }),
    // A ticket tells where it was; a reading alone takes that down from the scale that is chosen.
    readings: rows.flatMap((read) =>
      read.typed !== 'reading' || read.at === null
        ? []
        : [
            {
              takenAt: new Date(read.at).toISOString(),
              driver,
              lane,
              elevationFt: scale?.elevationFt ?? null,
              temperatureF: null,
              lift: liftStateOf(read.draft.lift),
              pressures: pressuresOf(read),
            },
          ],
    ),
  }
}

/** What the button says that it saves. */
export function saveWords(rows: readonly ReadRow[], calibrations: number): string {
  const tickets = rows.filter(({ typed }) => typed === 'ticket').length
  const readings = rows.filter(({ typed }) => typed === 'reading').length
  if (calibrations > 0)
    return phrase('Save with {calibrations, plural, one {# calibration} other {# calibrations}}', { calibrations })
  if (readings > 0)
    return tickets > 0
      ? phrase('Save tickets and readings')
      : phrase('Save the {readings, plural, one {reading} other {readings}}', { readings })
  return phrase('Save the tickets')
}

/** What was saved: `Saved: 3 tickets, 1 reading without a ticket, 2 calibrations.` */
export function savedWords(
  {
    tickets,
    readings = [],
  }: { readonly tickets: readonly unknown[]; readonly readings?: readonly unknown[] | undefined },
  calibrations: number,
): string {
  const parts = [
    tickets.length > 0 && phrase('{tickets, plural, one {# ticket} other {# tickets}}', { tickets: tickets.length }),
    readings.length > 0 &&
      phrase('{readings, plural, one {# reading} other {# readings}} without a ticket', { readings: readings.length }),
    calibrations > 0 && phrase('{calibrations, plural, one {# calibration} other {# calibrations}}', { calibrations }),
  ]
  return phrase('Saved: {what}.', { what: parts.filter(Boolean).join(', ') })
}
