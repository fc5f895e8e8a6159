import type { Generated } from 'kysely'
import type { FindingCode, Severity, Trust } from '#core/findings/finding.ts'
import type { HeavySource, LimitKind, VerdictRank } from '#core/weight/heavy.ts'
import type { Verdict } from '#core/weight/verdict.ts'
import type {
  BatteryReason,
  EventKind,
  GroupRole,
  LeakCheck,
  LiftState,
  Measure,
  PressureReference,
  ServiceState,
  UnitKind,
} from '#core/words/vocabulary.ts'

/** The tables as Kysely sees them; times are UTC text, see migrations/0001-ledger.ts. */
export interface Schema {
  yard: {
    id: Generated<number>
    name: string
    elevation_ft: number | null
    /** As `core/words/work-days.ts` writes them. */
    working_days: string | null
    holidays: string | null
    jobs_per_day: number | null
  }
  unit: {
    id: Generated<number>
    number: string
    kind: UnitKind
    vin: string | null
    plate: string | null
    plate_region: string | null
    make: string | null
    model: string | null
    model_year: number | null
    yard_id: number | null
    gross_limit_lb: number | null
    fifth_wheel_ft: number | null
    service_state: Generated<ServiceState>
  }
  axle_group: {
    id: Generated<number>
    unit_id: number
    name: string
    role: GroupRole
    axles: number
    first_axle_ft: number | null
    axle_spacing_ft: number | null
    limit_lb: number | null
    measured_by: Measure | null
  }
  circuit: {
    id: Generated<number>
    group_id: number
    name: string
    air_springs: number | null
    spring_area_in2: number | null
    ride_height_in: number | null
  }
  sensor: {
    id: Generated<number>
    serial: string
    reference: PressureReference
    range_psi: number | null
    resolution_psi: number | null
    accuracy_psi: number | null
    cell: string | null
    report_every_s: number | null
  }
  mount: {
    id: Generated<number>
    sensor_id: number
    circuit_id: number
    mounted_at: string
    removed_at: string | null
    teed_in_at: string | null
    mounted_where: string | null
    line_length_in: number | null
    leak_check: LeakCheck | null
    gauge_psi: number | null
    gauge_sensor_psi: number | null
    local_zone: string | null
  }
  battery_change: {
    id: Generated<number>
    sensor_id: number
    changed_at: string
    reason: BatteryReason | null
    cell: string | null
  }
  scale: {
    id: Generated<number>
    name: string
    division_lb: number | null
    elevation_ft: number | null
    tolerance_percent: number | null
  }
  ticket: {
    id: Generated<number>
    scale_id: number
    number: string
    weighed_at: string
    local_zone: string | null
    gross_lb: number | null
    note: string | null
    driver: string | null
    lane: string | null
  }
  ticket_weight: {
    id: Generated<number>
    ticket_id: number
    unit_id: number
    group_id: number | null
    weight_lb: number | null
  }
  ticket_together: {
    id: Generated<number>
    ticket_id: number
    unit_id: number
    first_group_id: number
    second_group_id: number
    weight_lb: number
  }
  reading: {
    id: Generated<number>
    name: string
    taken_at: string
    local_zone: string | null
    ticket_id: number | null
    elevation_ft: number | null
    temperature_f: number | null
    lift: LiftState | null
    source: string | null
    note: string | null
    driver: string | null
    lane: string | null
  }
  reading_pressure: { reading_id: number; circuit_id: number; psi: number }
  reading_unit: { reading_id: number; unit_id: number }
  attachment: { sha256: string; media_type: string; size_bytes: number; file_name: string }
  ticket_attachment: { ticket_id: number; sha256: string }
  calibration: {
    id: Generated<number>
    group_id: number
    calibrated_at: string
    calibrated_by: string | null
    voided_at: string | null
    voided_by: string | null
    void_reason: string | null
  }
  calibration_point: { calibration_id: number; ticket_id: number; reading_id: number }
  event: {
    id: Generated<number>
    unit_id: number
    group_id: number | null
    circuit_id: number | null
    happened_at: string
    kind: EventKind
    note: string | null
    local_zone: string | null
  }
  house_rule: { name: string; value: number }
  house_setting: { name: string; value: string }
  mapping: { id: Generated<number>; name: string; settings: string }
  change_log: {
    id: Generated<number>
    changed_at: string
    changed_by: string
    unit_id: number | null
    subject: string
    subject_key: string
    action: string
    old_value: string | null
    new_value: string | null
    reason: string | null
    revision: number | null
    record_id: number | null
    undoes: number | null
  }
  change_unit: { unit_id: number; change_id: number }
  ledger: {
    id: number
    revision: number
    lines_revision: number
    weights_revision: number
    cells_revision: number
    words_revision: number
  }
  behind_unit: { unit_id: number; judge_since: number | null; weigh_since: number | null }
  behind_weighing: { weighing: number; since: number }
  behind_fleet: { what: 'learn' | 'judge' | 'weigh'; since: number }
  fleet_figures: { id: number; learnt_at: string; figures: string }
  books: {
    id: number
    judged_for: string | null
    judged_revision: number
    weighed_revision: number
    weighed_for: string
    /** Counts how often judgements were stored. */
    renewals: number
    /** The renewal with which the fleet as a whole was last judged. */
    whole_renewal: number
  }
  /** Units with the newest renewal that was about them. */
  renewed_unit: { unit_id: number; renewal: number }
  judged_with: { group_id: number; unit_id: number }
  group_standing: {
    group_id: number
    unit_id: number
    trust: Trust
    calibration_id: number | null
    calibrated_at: string | null
    due_on: string | null
    a: number | null
    b: number | null
    u_a: number | null
    u_b: number | null
    cov_ab: number | null
    u_limit_lb: number | null
    judged_for: string | null
    /** JSON of `WeighingOffer`. Its scales are no references: one that is gone is left out where the list is read. */
    weigh_next: string | null
    /** Share of the tolerance that the first of them regains. */
    weigh_regains: number | null
  }
  standing_before: { group_id: number; judged_for: string; trust: Trust }
  finding: {
    id: Generated<number>
    unit_id: number | null
    group_id: number | null
    circuit_id: number | null
    scale_id: number | null
    ticket_id: number | null
    code: string
    severity: Severity
    since: string | null
    numbers: string
    variant: string
    /** JSON of `Said`'s facts. */
    facts: string
    evidence: Generated<string>
  }
  /** The Roster's line of each unit, made from the record and its judgements (roster-lines.ts). */
  roster_line: {
    unit_id: number
    number: string
    number_key: string
    kind: UnitKind
    make: string | null
    model: string | null
    model_year: number | null
    yard: string | null
    retired: 0 | 1
    trust: Trust | null
    groups: number
    finding: FindingCode | null
    /** JSON of finding codes, the worst first. */
    findings: string
    calibrated_at: string | null
    due_on: string | null
    u_limit_lb: number | null
    cell_since: string | null
    unsensed: 0 | 1
    trust_rank: number
    finding_rank: number
    due_rank: string
    u_rank: number
    due_key: string | null
    model_key: string | null
    words: string
  }
  /** Units whose line is to be made anew; triggers mark them. */
  roster_behind: { unit_id: number }
  /** What sensors are found by, small; triggers write it. */
  sensor_words: { sensor_id: number; words: string }
  dismissal: {
    id: Generated<number>
    finding_key: string
    evidence: string
    reason: string
    dismissed_by: string
    dismissed_at: string
  }
  weighed_unit: {
    weighing: number
    unit_id: number
    weighed_on: string
    leads: 0 | 1
    group_verdict: VerdictRank | null
    gross_verdict: VerdictRank | null
    bridge_verdict: VerdictRank | null
  }
  heavy: {
    id: Generated<number>
    weighing: number
    source: HeavySource
    superseded: 0 | 1
    reading_id: number | null
    ticket_id: number | null
    weighed_at: string
    unit_id: number
    lead_unit_id: number
    limit_kind: LimitKind
    group_id: number | null
    first_axle: number | null
    last_axle: number | null
    length_ft: number | null
    more_sets: number | null
    weight_lb: number
    u_lb: number
    limit_lb: number
    over_lb: number
    p_over: number
    verdict: Verdict
    line_weight_lb: number | null
    line_u_lb: number | null
    line_verdict: Verdict | null
    said_verdict: Verdict | null
    said_weight_lb: number | null
    said_u_lb: number | null
    provisional: 0 | 1
  }
  desk: { name: string; text: string; left_at: string }
  sent_save: { id: Generated<number>; sent_id: string; saved_at: string; digest: string; answer: string }
  planned_visit: { id: Generated<number>; unit_id: number; yard_id: number | null; visit_on: string }
  cell_stock: { id: Generated<number>; yard_id: number | null; cell: string; on_hand: number }
  cell_price: { id: Generated<number>; cell: string; dollars: number }
}
