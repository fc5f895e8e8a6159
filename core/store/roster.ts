import type { FindingCode, Severity, Trust } from '#core/findings/finding.ts'
import { worseFirst, worstTrust } from '#core/findings/trust.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { walk } from '#core/store/rows.ts'
import type { UnitKind } from '#core/words/vocabulary.ts'

/** Only of these; left out, of the whole fleet. */
type OfUnits = readonly number[] | undefined

interface UnitStanding {
  trust: Trust | null
  groups: number
  calibratedAt: string | null
  dueOn: string | null
  uLimitLb: number | null
}

const earlier = (a: string | null, b: string | null) => (a === null || (b !== null && b < a) ? b : a)
function standingsByUnit({ db, raw }: Store, unitIds: OfUnits): Map<number, UnitStanding> {
  const units = new Map<number, UnitStanding>()
  const query = db
    .selectFrom('group_standing')
    .select(['unit_id', 'trust', 'calibrated_at', 'due_on', 'u_limit_lb'])
    .$if(unitIds !== undefined, (some) => some.where('unit_id', 'in', unitIds ?? []))
  type Row = [number, Trust, string | null, string | null, number | null]
  for (const [unitId, trust, calibratedAt, dueOn, uLimitLb] of walk<Row>(raw, query)) {
    const unit = units.get(unitId)
    if (!unit) {
      units.set(unitId, { trust, groups: 1, calibratedAt, dueOn, uLimitLb })
      continue
    }
    unit.trust = unit.trust === null ? trust : worstTrust([unit.trust, trust])
    unit.groups += 1
    unit.calibratedAt = earlier(unit.calibratedAt, calibratedAt)
    unit.dueOn = earlier(unit.dueOn, dueOn)
    if (uLimitLb !== null) unit.uLimitLb = Math.max(unit.uLimitLb ?? 0, uLimitLb)
  }
  return units
}

function codesByUnit({ db, raw }: Store, unitIds: OfUnits): Map<number, { code: FindingCode; severity: Severity }[]> {
  const units = new Map<number, { code: FindingCode; severity: Severity }[]>()
  const query = db
    .selectFrom('finding')
    .select(['unit_id', 'code', 'severity'])
    .where('unit_id', 'is not', null)
    .$if(unitIds !== undefined, (some) => some.where('unit_id', 'in', unitIds ?? []))
    .groupBy(['unit_id', 'code', 'severity'])
  for (const [unitId, code, severity] of walk<[number, FindingCode, Severity]>(raw, query)) {
    const codes = units.get(unitId)
    if (codes) codes.push({ code, severity })
    else units.set(unitId, [{ code, severity }])
  }
  for (const codes of units.values()) codes.sort(worseFirst)
  return units
}

/** When the oldest cell among a unit's mounted sensors was put in. */
function oldestCells({ db, raw }: Store, unitIds: OfUnits): Map<number, string> {
  const query = db
    .selectFrom('mount as m')
    .innerJoin('circuit as c', 'c.id', 'm.circuit_id')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .where('m.removed_at', 'is', null)
    .$if(unitIds !== undefined, (some) => some.where('g.unit_id', 'in', unitIds ?? []))
    .select((eb) => [
      'g.unit_id',
      eb
        .selectFrom('battery_change as b')
        .whereRef('b.sensor_id', '=', 'm.sensor_id')
        .select(({ fn }) => fn.max('b.changed_at').as('since'))
        .as('since'),
    ])
  const oldest = new Map<number, string>()
  for (const [unitId, since] of walk<[number, string | null]>(raw, query)) {
    const known = oldest.get(unitId)
    if (since !== null && (known === undefined || since < known)) oldest.set(unitId, since)
  }
  return oldest
}

/** One unit of the Roster: the trust of its worst group and what is due first. */
export interface RosterUnit {
  readonly unitId: number
  readonly unit: string
  readonly kind: UnitKind
  readonly make: string | null
  readonly model: string | null
  readonly modelYear: number | null
  readonly yard: string | null
  readonly retired: boolean
  /** null: the unit has no sensed group. */
  readonly trust: Trust | null
  readonly groups: number
  readonly worstFinding: FindingCode | null
  /** The worst first. */
  readonly findingCodes: FindingCode[]
  /** Stored instant, of the group calibrated longest ago. */
  readonly calibratedAt: string | null
  readonly dueOn: string | null
  /** Largest standard uncertainty at the limit among the groups, lb. */
  readonly uLimitLb: number | null
  /** Stored instant. */
  readonly cellSince: string | null
}

/**
 * Every unit with the standing of its groups, by unit number, what makes its state first: four walks over the stored
 * assessment, whatever the fleet's size; or only some units of it.
 */
export function listRoster(store: Store, unitIds?: OfUnits): RosterUnit[] {
  const standings = standingsByUnit(store, unitIds)
  const codes = codesByUnit(store, unitIds)
  const cells = oldestCells(store, unitIds)
  const query = store.db
    .selectFrom('unit as u')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select(['u.id', 'u.number', 'u.kind', 'u.make', 'u.model', 'u.model_year', 'y.name', 'u.service_state'])
    .$if(unitIds !== undefined, (some) => some.where('u.id', 'in', unitIds ?? []))
    .orderBy('u.number')
  type Row = [number, string, UnitKind, string | null, string | null, number | null, string | null, string]
  const rows: RosterUnit[] = []
  for (const [id, unit, kind, make, model, modelYear, yard, serviceState] of walk<Row>(store.raw, query)) {
    const standing = standings.get(id)
    const found = codes.get(id) ?? []
    rows.push({
      unitId: id,
      unit,
      kind,
      make,
      model,
      modelYear,
      yard,
      retired: serviceState === 'retired',
      trust: standing?.trust ?? null,
      groups: standing?.groups ?? 0,
      worstFinding: found[0]?.code ?? null,
      findingCodes: found.map(({ code }) => code),
      calibratedAt: standing?.calibratedAt ?? null,
      dueOn: standing?.dueOn ?? null,
      uLimitLb: standing?.uLimitLb ?? null,
      cellSince: cells.get(id) ?? null,
    })
  }
  return rows
}

/** Every scale with the number of its tickets, by name. */
export function listScales(db: Reader) {
  return db
    .selectFrom('scale as s')
    .leftJoin('ticket as t', 't.scale_id', 's.id')
    .select(({ fn }) => [
      's.id',
      's.name',
      's.division_lb',
      's.tolerance_percent',
      's.elevation_ft',
      fn.count<number>('t.id').as('tickets'),
    ])
    .groupBy('s.id')
    .orderBy('s.name')
    .execute()
}

/** The stored findings about scales alone. */
export function listScaleFindings(db: Reader) {
  return db
    .selectFrom('finding')
    .select(['id', 'scale_id', 'code', 'variant', 'facts'])
    .where('code', '=', 'scale-biased')
    .execute()
}
