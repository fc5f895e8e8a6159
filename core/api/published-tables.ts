import { entryMaker } from '#core/api/heavy-entries.ts'
import type { MountedCell } from '#core/cells/fleet-cells.ts'
import type { HeavyEntry } from '#core/contracts/heavy.ts'
import { type PublishedColumn, type PublishedTable, publishedTable } from '#core/exchange/publish/published-table.ts'
import type { FindingCode } from '#core/findings/finding.ts'
import { trustBy } from '#core/findings/trust.ts'
import { yardNames } from '#core/store/bench.ts'
import { readFigures } from '#core/store/books.ts'
import { readFleetCells } from '#core/store/cells.ts'
import { eachHeavy } from '#core/store/heavy.ts'
import { type WeighedUnit, listWeighedUnits } from '#core/store/monday.ts'
import type { Store } from '#core/store/open.ts'
import {
  type GroupStanding,
  type WeighingNames,
  lastWeighing,
  listGroupStandings,
  nameWeighings,
  unitYards,
} from '#core/store/published.ts'
import { listRoster } from '#core/store/roster.ts'
import { type FindingOfToday, listAllFindings } from '#core/store/today.ts'
import { type NumberedWeighing, eachWeighing } from '#core/store/weighings.ts'
import type { CombinationWeights, JudgedGroup } from '#core/weight/combination-weights.ts'
import { type HeavySource, type VerdictRank, isDecided, verdictOfRank } from '#core/weight/heavy.ts'
import { type Judgement, type Verdict, verdicts } from '#core/weight/verdict.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import { dayNumber, dayOf } from '#core/words/day.ts'
import { type HouseRules, namesDrivers } from '#core/words/house-rules.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { sayOfRules } from '#core/words/say.ts'
import { sayFinding, saidOf } from '#core/words/sentences/findings.ts'

/**
 * What a reporting copy holds: the answers of the Roster, the findings, the Heavy Log, the weights behind it and the
 * Shop Bench's cells, by what is stored and current.
 */

/** So many units, and so many readings or tickets, are replaced together. */
const unitsAPart = 100
const weighingsAPart = 500
const partsAtOnce = 10

/** Rows in parts of neighboring units; those of no unit are part 0. */
async function* byUnit<Row>(
  rows: Iterable<Row>,
  unitOf: (row: Row) => number | null,
): AsyncGenerator<readonly [number, readonly Row[]]> {
  const parts = Map.groupBy(rows, (row) => {
    const unitId = unitOf(row)
    return unitId === null ? 0 : 1 + Math.floor(unitId / unitsAPart)
  })
  yield* [...parts].sort(([a], [b]) => a - b)
}

type Unit = ReturnType<typeof listRoster>[number]

const unitColumns: readonly PublishedColumn<Unit>[] = [
  { name: 'unit', kind: 'text', about: 'Its number', of: ({ unit }) => unit },
  { name: 'kind', kind: 'text', about: 'tractor, trailer or truck', of: ({ kind }) => kind },
  { name: 'yard', kind: 'text', about: 'Where it is at home', of: ({ yard }) => yard },
  { name: 'make', kind: 'text', about: 'Who made it', of: ({ make }) => make },
  { name: 'model', kind: 'text', about: 'Its model', of: ({ model }) => model },
  { name: 'model_year', kind: 'whole', about: 'The year of its model', of: ({ modelYear }) => modelYear },
  { name: 'is_retired', kind: 'yes or no', about: 'Whether it is out of service', of: ({ retired }) => retired },
  {
    name: 'trust',
    kind: 'text',
    about: 'Of its worst axle group: uncalibrated, upset, doubtful, overdue, due soon or sound; null: not sensed',
    of: ({ trust }) => trust,
  },
  { name: 'sensed_groups', kind: 'whole', about: 'Its axle groups that have a sensor', of: ({ groups }) => groups },
  {
    name: 'worst_finding',
    kind: 'text',
    about: 'Code of the finding that makes its state',
    of: ({ worstFinding }) => worstFinding,
  },
  {
    name: 'finding_codes',
    kind: 'texts',
    about: 'Codes of all that is found of it, the worst first',
    of: ({ findingCodes }) => findingCodes,
  },
  {
    name: 'calibrated_at',
    kind: 'moment',
    about: 'When the group calibrated longest ago was calibrated',
    of: ({ calibratedAt }) => calibratedAt,
  },
  { name: 'due_on', kind: 'day', about: 'By when the first of its lines must be calibrated again', of: (u) => u.dueOn },
  {
    name: 'u_limit_lb',
    kind: 'number',
    about: 'Largest standard uncertainty of a weight at the limit of one of its groups, lb',
    of: ({ uLimitLb }) => uLimitLb,
  },
  {
    name: 'oldest_cell_at',
    kind: 'moment',
    about: 'When the oldest cell among its mounted sensors was put in',
    of: ({ cellSince }) => cellSince,
  },
]

const standingColumns: readonly PublishedColumn<GroupStanding>[] = [
  { name: 'unit', kind: 'text', about: 'Number of the unit', of: ({ unit }) => unit },
  { name: 'axle_group', kind: 'text', about: 'The axle group', of: ({ group }) => group },
  { name: 'role', kind: 'text', about: 'What the group does under the unit', of: ({ role }) => role },
  { name: 'yard', kind: 'text', about: 'Where the unit is at home', of: ({ yard }) => yard },
  {
    name: 'is_retired',
    kind: 'yes or no',
    about: 'Whether the unit is out of service',
    of: ({ service_state: state }) => state === 'retired',
  },
  {
    name: 'trust',
    kind: 'text',
    about: 'Whether its line can be trusted: uncalibrated, upset, doubtful, overdue, due soon or sound',
    of: ({ trust }) => trust,
  },
  { name: 'calibrated_at', kind: 'moment', about: 'When its line in use was made', of: (row) => row.calibrated_at },
  { name: 'due_on', kind: 'day', about: 'By when it must be calibrated again', of: (row) => row.due_on },
  { name: 'a_lb', kind: 'number', about: 'Weight of the line in use at 0 psi, lb', of: ({ a }) => a },
  { name: 'b_lb_per_psi', kind: 'number', about: 'Slope of the line in use, lb a psi', of: ({ b }) => b },
  { name: 'u_a_lb', kind: 'number', about: 'Standard uncertainty of a_lb, lb', of: ({ u_a: u }) => u },
  {
    name: 'u_b_lb_per_psi',
    kind: 'number',
    about: 'Standard uncertainty of b_lb_per_psi, lb a psi',
    of: ({ u_b: u }) => u,
  },
  {
    name: 'cov_ab_lb2_per_psi',
    kind: 'number',
    about: 'Covariance of a_lb and b_lb_per_psi, lb² a psi',
    of: ({ cov_ab: cov }) => cov,
  },
  {
    name: 'u_limit_lb',
    kind: 'number',
    about: 'Standard uncertainty of a weight at the limit, lb; null where work since has broken the line',
    of: ({ u_limit_lb: u }) => u,
  },
]

const findingColumns = (rules: HouseRules): readonly PublishedColumn<FindingOfToday>[] => {
  const say = sayOfRules(rules)
  const said = ({ code, variant, facts }: FindingOfToday) => sayFinding(saidOf({ code, variant, facts }), say)
  return [
    { name: 'code', kind: 'text', about: 'What is found', of: ({ code }) => code },
    {
      name: 'severity',
      kind: 'text',
      about: 'stop: needs work; warn: look at it; note: good to know',
      of: ({ severity }) => severity,
    },
    {
      name: 'trust',
      kind: 'text',
      about: 'What it takes its group down to; null: it unsettles no line by itself',
      of: ({ code, severity }) => trustBy({ code: code as FindingCode, severity }) ?? null,
    },
    { name: 'unit', kind: 'text', about: 'Of which unit; null: of a scale or a ticket', of: ({ unit }) => unit },
    { name: 'axle_group', kind: 'text', about: 'Of which axle group', of: ({ group }) => group },
    { name: 'circuit', kind: 'text', about: 'Of which of its air circuits', of: ({ circuit }) => circuit },
    { name: 'yard', kind: 'text', about: 'Where the unit is at home', of: ({ yard }) => yard },
    { name: 'scale', kind: 'text', about: 'Of which scale, or the scale of its ticket', of: ({ scale }) => scale },
    { name: 'ticket', kind: 'text', about: 'Of which ticket', of: ({ ticket }) => ticket },
    {
      name: 'since_at',
      kind: 'moment',
      about: 'When the trouble began, as far as the evidence tells',
      of: ({ since }) => since,
    },
    { name: 'message', kind: 'text', about: 'What it says, with its numbers', of: (row) => said(row).message },
    { name: 'next_step', kind: 'text', about: 'What to do about it', of: (row) => said(row).nextStep },
    {
      name: 'numbers',
      kind: 'json',
      about: 'Its numbers by name, units in the names',
      of: ({ numbers }) => JSON.parse(numbers),
    },
  ]
}

const byRank = (rank: VerdictRank | null) => (rank === null ? null : verdictOfRank(rank))
const worstRank = (row: WeighedUnit): VerdictRank | null => {
  const ranks = [row.group_verdict, row.gross_verdict, row.bridge_verdict].filter((rank) => rank !== null)
  return ranks.length === 0 ? null : (Math.max(...ranks) as VerdictRank)
}

const weighingColumns = (rules: HouseRules): readonly PublishedColumn<WeighedUnit>[] => [
  {
    name: 'weighing',
    kind: 'whole',
    about: 'Number of the weighing: a ticket with its readings, or a reading without a ticket',
    of: ({ weighing }) => weighing,
  },
  { name: 'day', kind: 'day', about: 'Of the weighing', of: (row) => row.weighed_on },
  { name: 'unit', kind: 'text', about: 'Number of the unit that stood in it', of: ({ unit }) => unit },
  {
    name: 'leads',
    kind: 'yes or no',
    about:
      'Whether the unit is at the head and stands for its whole combination: where it is true, each weighing is once',
    of: ({ leads }) => leads === 1,
  },
  { name: 'yard', kind: 'text', about: 'Where the unit is at home', of: ({ yard }) => yard },
  {
    name: 'driver',
    kind: 'text',
    about: 'Who drove, where the record and the House Rules say so',
    of: ({ drivenBy }) => (namesDrivers(rules) ? drivenBy : null),
  },
  {
    name: 'verdict',
    kind: 'text',
    about: 'The worst of the three verdicts: over, too close to call, or under',
    of: (row) => byRank(worstRank(row)),
  },
  {
    name: 'group_verdict',
    kind: 'text',
    about: 'About its axle groups; of the unit at the head about all of them',
    of: ({ group_verdict: rank }) => byRank(rank),
  },
  {
    name: 'gross_verdict',
    kind: 'text',
    about: 'About the gross of its combination',
    of: ({ gross_verdict: rank }) => byRank(rank),
  },
  {
    name: 'bridge_verdict',
    kind: 'text',
    about: 'About the bridge sets that it has axles in',
    of: ({ bridge_verdict: rank }) => byRank(rank),
  },
]

const heavyColumns = ({ zone }: HouseRules): readonly PublishedColumn<HeavyEntry>[] => [
  { name: 'weighed_at', kind: 'moment', about: 'When it was weighed', of: ({ weighedAt }) => weighedAt },
  {
    name: 'day',
    kind: 'day',
    about: 'Of the weighing',
    of: ({ weighedAt }) => dayOf(fromStoredInstant(weighedAt), zone),
  },
  { name: 'combination', kind: 'texts', about: 'The units weighed, in coupling order', of: ({ units }) => units },
  { name: 'unit', kind: 'text', about: 'Whose limit it is', of: ({ unit }) => unit },
  { name: 'yard', kind: 'text', about: 'Where the unit at the head is at home', of: ({ yard }) => yard },
  { name: 'limit_of', kind: 'text', about: 'group, gross or bridge', of: ({ kind }) => kind },
  { name: 'axle_group', kind: 'text', about: 'The axle group, of limit_of group', of: ({ group }) => group },
  {
    name: 'first_axle',
    kind: 'whole',
    about: 'First axle of the bridge set, from the front',
    of: ({ set }) => set?.firstAxle ?? null,
  },
  { name: 'last_axle', kind: 'whole', about: 'Last axle of the bridge set', of: ({ set }) => set?.lastAxle ?? null },
  { name: 'length_ft', kind: 'number', about: 'Length of the bridge set, ft', of: ({ set }) => set?.lengthFt ?? null },
  { name: 'weight_lb', kind: 'number', about: 'Best weight, by all evidence, lb', of: ({ weightLb }) => weightLb },
  { name: 'u_lb', kind: 'number', about: 'Its standard uncertainty, lb', of: ({ uLb }) => uLb },
  { name: 'limit_lb', kind: 'number', about: 'The limit that it is held against, lb', of: ({ limitLb }) => limitLb },
  {
    name: 'over_lb',
    kind: 'number',
    about: 'Weight less limit, lb; below zero: under it, and too close to call',
    of: ({ overLb }) => overLb,
  },
  { name: 'p_over', kind: 'number', about: 'Probability that it is over the limit, 0 to 1', of: ({ pOver }) => pOver },
  {
    name: 'verdict',
    kind: 'text',
    about: 'over, too close to call, or under: then it was heavy by its line alone, or before more was known',
    of: ({ verdict }) => verdict,
  },
  {
    name: 'line_weight_lb',
    kind: 'number',
    about: 'What the lines in use read, which a driver’s card said, lb; null for a ticket and without a line',
    of: ({ byLine }) => byLine?.weightLb ?? null,
  },
  {
    name: 'u_line_lb',
    kind: 'number',
    about: 'Standard uncertainty of line_weight_lb, lb',
    of: ({ byLine }) => byLine?.uLb ?? null,
  },
  {
    name: 'line_verdict',
    kind: 'text',
    about: 'Verdict of line_weight_lb',
    of: ({ byLine }) => byLine?.verdict ?? null,
  },
  {
    name: 'verdict_then',
    kind: 'text',
    about: 'What was said before and is no longer held',
    of: ({ lookBack }) => lookBack?.verdict ?? null,
  },
  { name: 'because', kind: 'text', about: 'Why it is no longer held', of: ({ lookBack }) => lookBack?.because ?? null },
  {
    name: 'is_provisional',
    kind: 'yes or no',
    about: 'Whether a line that recorded work has broken has a part in it',
    of: ({ provisional }) => provisional,
  },
  { name: 'source', kind: 'text', about: 'ticket: a certified scale; onboard: a pressure', of: ({ source }) => source },
  {
    name: 'ticket_decides',
    kind: 'yes or no',
    about: 'Whether the ticket of the same weighing decides about it: then it is not counted',
    of: ({ superseded }) => superseded,
  },
  { name: 'reading', kind: 'text', about: 'The reading of an onboard weight', of: ({ reading }) => reading },
  { name: 'scale', kind: 'text', about: 'The scale of the ticket', of: ({ scale }) => scale },
  { name: 'ticket', kind: 'text', about: 'Number of the ticket', of: ({ ticket }) => ticket },
  {
    name: 'driver',
    kind: 'text',
    about: 'Who drove, where the record and the House Rules say so',
    of: ({ driver }) => driver,
  },
  { name: 'note', kind: 'text', about: 'What the driver said of it', of: ({ note }) => note },
]

/** A weight by one way of weighing, lb, without all that it was worked out from. */
interface Weighed {
  readonly weightLb: number
  readonly uLb: number
  readonly pOver: number | null
  readonly verdict: Verdict | null
}

/** One weight, or why there is none. */
interface Weight {
  readonly weighing: number
  /** ms UTC. */
  readonly at: number
  readonly source: HeavySource
  readonly readingId: number | null
  readonly ticketId: number | null
  readonly lead: string | null
  readonly yard: string | null
  readonly unit: string | null
  /** null: the gross. */
  readonly group: string | null
  readonly best: Weighed | null
  readonly limitLb: number
  readonly line: Weighed | null
  readonly restsOn: string | null
  readonly psi: number | null
  readonly isProvisional: boolean
  readonly ticketDecides: boolean
  readonly notWeighed: string | null
}

/** The same under the names that people use. */
interface NamedWeight extends Weight {
  readonly reading: string | null
  readonly ticket: string | null
  readonly scale: string | null
}

const weightColumns = ({ zone }: HouseRules): readonly PublishedColumn<NamedWeight>[] => [
  {
    name: 'weighing',
    kind: 'whole',
    about: 'Number of the weighing, as in the table weighing',
    of: ({ weighing }) => weighing,
  },
  { name: 'weighed_at', kind: 'moment', about: 'When it was weighed', of: ({ at }) => toStoredInstant(at) },
  { name: 'day', kind: 'day', about: 'Of the weighing', of: ({ at }) => dayOf(at, zone) },
  { name: 'source', kind: 'text', about: 'ticket: a certified scale; onboard: a reading', of: ({ source }) => source },
  { name: 'reading', kind: 'text', about: 'The reading of an onboard weight', of: ({ reading }) => reading },
  { name: 'scale', kind: 'text', about: 'The scale of the ticket', of: ({ scale }) => scale },
  { name: 'ticket', kind: 'text', about: 'Number of the ticket', of: ({ ticket }) => ticket },
  { name: 'lead_unit', kind: 'text', about: 'The unit at the head of the combination', of: ({ lead }) => lead },
  { name: 'yard', kind: 'text', about: 'Where the unit at the head is at home', of: ({ yard }) => yard },
  { name: 'unit', kind: 'text', about: 'Whose limit it is', of: ({ unit }) => unit },
  { name: 'limit_of', kind: 'text', about: 'group or gross', of: ({ group }) => (group === null ? 'gross' : 'group') },
  { name: 'axle_group', kind: 'text', about: 'The axle group; null: the gross', of: ({ group }) => group },
  {
    name: 'weight_lb',
    kind: 'number',
    about: 'Best weight, by all evidence, lb; null: not weighed',
    of: ({ best }) => best?.weightLb ?? null,
  },
  { name: 'u_lb', kind: 'number', about: 'Its standard uncertainty, lb', of: ({ best }) => best?.uLb ?? null },
  { name: 'limit_lb', kind: 'number', about: 'The limit that it is held against, lb', of: ({ limitLb }) => limitLb },
  {
    name: 'p_over',
    kind: 'number',
    about: 'Probability that it is over the limit, 0 to 1',
    of: ({ best }) => best?.pOver ?? null,
  },
  {
    name: 'verdict',
    kind: 'text',
    about: 'over, too close to call, or under',
    of: ({ best }) => best?.verdict ?? null,
  },
  {
    name: 'line_weight_lb',
    kind: 'number',
    about: 'What the lines in use read, which a driver’s card said, lb; null for a ticket and without a line',
    of: ({ line }) => line?.weightLb ?? null,
  },
  {
    name: 'u_line_lb',
    kind: 'number',
    about: 'Standard uncertainty of line_weight_lb, lb',
    of: ({ line }) => line?.uLb ?? null,
  },
  {
    name: 'line_verdict',
    kind: 'text',
    about: 'Verdict of line_weight_lb',
    of: ({ line }) => line?.verdict ?? null,
  },
  { name: 'gauge_psi', kind: 'number', about: 'Gauge pressure of the group, psi', of: ({ psi }) => psi },
  {
    name: 'rests_on',
    kind: 'text',
    about: 'line, provisional, estimate, ticket, or raised (a lift axle); null for the gross',
    of: ({ restsOn }) => restsOn,
  },
  {
    name: 'is_provisional',
    kind: 'yes or no',
    about: 'Whether a line that recorded work has broken has a part in it',
    of: ({ isProvisional }) => isProvisional,
  },
  {
    name: 'ticket_decides',
    kind: 'yes or no',
    about: 'Whether the ticket of the same weighing decides about it',
    of: ({ ticketDecides }) => ticketDecides,
  },
  { name: 'not_weighed', kind: 'text', about: 'Why there is no weight', of: ({ notWeighed }) => notWeighed },
]

type Looked = Pick<Weight, 'weighing' | 'at' | 'source' | 'readingId' | 'ticketId' | 'lead' | 'yard'>

const weighedAs = (
  weight: { readonly weightLb: number; readonly uLb: number } | null | undefined,
  judgement: Judgement | null | undefined,
): Weighed | null =>
  weight
    ? {
        weightLb: weight.weightLb,
        uLb: weight.uLb,
        pOver: judgement?.pOver ?? null,
        verdict: judgement?.verdict ?? null,
      }
    : null

function groupWeight(
  base: Looked,
  unit: string | null,
  group: string,
  { weighing, limitLb, judgement, byLine }: JudgedGroup,
  ticketDecides: boolean,
): Weight {
  const { weighed } = weighing
  return {
    ...base,
    unit,
    group,
    best: weighed ? weighedAs(weighing, judgement) : null,
    limitLb,
    line: weighed && base.source === 'onboard' ? weighedAs(weighing.byLine, byLine) : null,
    restsOn: weighed ? weighing.source : null,
    psi: weighed ? weighing.psi : null,
    isProvisional: weighed && weighing.isProvisional,
    ticketDecides,
    notWeighed: weighed ? null : weighing.reason,
  }
}

/** The groups and the gross that one source weighed; of a ticket only what stands on it. */
function weightsOf(
  base: Looked,
  ready: ReadyCombination,
  weights: CombinationWeights,
  ticket: CombinationWeights | null,
): Weight[] {
  const units = new Map(ready.units.map(({ unitId, unit }) => [unitId, unit]))
  const groups = weights.groups.map((judged, place) => {
    const planned = ready.plan.groups[place]
    const unit = planned ? (units.get(planned.unitId) ?? null) : null
    return groupWeight(base, unit, planned?.place.group ?? '', judged, isDecided(ticket?.groups[place]))
  })
  const { total, judgement, limitLb, byLine } = weights.gross
  const gross: Weight = {
    ...base,
    unit: base.lead,
    group: null,
    best: weighedAs(total, judgement),
    limitLb,
    line: total && base.source === 'onboard' ? weighedAs(byLine?.sum, byLine?.judgement) : null,
    restsOn: null,
    psi: null,
    isProvisional: groups.some(({ isProvisional }) => isProvisional),
    ticketDecides: isDecided(ticket?.gross),
    notWeighed: total ? null : 'group not weighed',
  }
  return [...groups, gross].filter(({ best }) => best !== null || base.source === 'onboard')
}

const weightsIn = (
  { weighing, at, ticketId, ready, ticket, readings }: NumberedWeighing,
  yards: ReadonlyMap<number, string | null>,
): Weight[] => {
  const head = ready.units[0]
  const base = {
    weighing,
    at,
    ticketId,
    lead: head?.unit ?? null,
    yard: head ? (yards.get(head.unitId) ?? null) : null,
  }
  return [
    ...(ticket ? weightsOf({ ...base, source: 'ticket', readingId: null }, ready, ticket, null) : []),
    ...readings.flatMap(({ readingId, weights }) =>
      weightsOf({ ...base, source: 'onboard', readingId }, ready, weights, ticket),
    ),
  ]
}

function withNames(weight: Weight, { readings, tickets }: WeighingNames): NamedWeight {
  const named = weight.ticketId === null ? undefined : tickets.get(weight.ticketId)
  return {
    ...weight,
    reading: weight.readingId === null ? null : (readings.get(weight.readingId) ?? null),
    ticket: named?.ticket ?? null,
    scale: named?.scale ?? null,
  }
}

interface Cell extends MountedCell {
  readonly yard: string | null
}

const cellColumns = ({ zone }: HouseRules): readonly PublishedColumn<Cell>[] => [
  { name: 'serial', kind: 'text', about: 'Serial number of the sensor', of: ({ outlook }) => outlook.serial },
  { name: 'unit', kind: 'text', about: 'The unit that it sits on', of: ({ seat }) => seat.unit },
  { name: 'axle_group', kind: 'text', about: 'The axle group', of: ({ seat }) => seat.group },
  { name: 'circuit', kind: 'text', about: 'The air circuit', of: ({ seat }) => seat.circuit },
  { name: 'yard', kind: 'text', about: 'Where the unit is at home', of: ({ yard }) => yard },
  { name: 'cell', kind: 'text', about: 'Type of the cell', of: ({ outlook }) => outlook.cell },
  {
    name: 'report_every_s',
    kind: 'number',
    about: 'How often the sensor reports, seconds',
    of: ({ outlook }) => outlook.reportEveryS,
  },
  {
    name: 'state',
    kind: 'text',
    about: 'fine, due, overdue or dead (its sensor has fallen silent)',
    of: ({ outlook }) => outlook.state,
  },
  {
    name: 'installed_on',
    kind: 'day',
    about: 'When the cell was put in',
    of: ({ outlook }) => dayOf(outlook.installedAt, zone),
  },
  {
    name: 'installed_assumed',
    kind: 'yes or no',
    about: 'Whether no change is recorded, so that a fresh cell at the mounting is assumed',
    of: ({ outlook }) => outlook.installAssumed,
  },
  { name: 'swap_by', kind: 'day', about: 'By when to swap it', of: ({ outlook }) => dayOf(outlook.swapByAt, zone) },
  {
    name: 'predicted_end_on',
    kind: 'day',
    about: 'By when half of such cells have died; of a dead one, when it died',
    of: ({ outlook }) => dayOf(outlook.predictedEndAt, zone),
  },
  {
    name: 'dead_since_on',
    kind: 'day',
    about: 'Since when its sensor has been silent',
    of: ({ outlook }) => (outlook.deadSince === null ? null : dayOf(outlook.deadSince, zone)),
  },
  {
    name: 'next_visit_on',
    kind: 'day',
    about: 'The unit’s next visit to the shop',
    of: ({ outlook }) => dayOf(outlook.nextVisitAt, zone),
  },
  {
    name: 'next_visit_assumed',
    kind: 'yes or no',
    about: 'Whether no visit is planned, so that the House Rules’ interval stands in',
    of: ({ outlook }) => outlook.visitAssumed,
  },
  {
    name: 'risk',
    kind: 'number',
    about: 'Probability that it dies before the next visit, 0 to 1',
    of: ({ outlook }) => outlook.riskBeforeVisit,
  },
]

/** Rows of the log by day, whose rows come one after the other. */
async function* heavyByDay(store: Store, zone: string): AsyncGenerator<readonly [number, readonly HeavyEntry[]]> {
  const asEntries = await entryMaker(store)
  let open: HeavyEntry[] = []
  const dayNow = ({ weighedAt }: HeavyEntry) => dayNumber(dayOf(fromStoredInstant(weighedAt), zone))
  for await (const rows of eachHeavy(store.db, { verdicts, superseded: true })) {
    const days = [...Map.groupBy([...open, ...(await asEntries(rows))], dayNow)]
    open = days.at(-1)?.[1] ?? []
    yield* days.slice(0, -1)
  }
  const [last] = open
  if (last) yield [dayNow(last), open]
}

async function* weighingParts(store: Store): AsyncGenerator<readonly [number, readonly WeighedUnit[]]> {
  const last = lastWeighing(store)
  for (let from = 0; from <= last; from += weighingsAPart) {
    const rows = await listWeighedUnits(store.db, from, from + weighingsAPart - 1)
    if (rows.length > 0) yield [from / weighingsAPart, rows]
  }
}

/** Parts of readings are numbered from here on: more than there are of tickets. */
const firstOfReadings = 1_000_000

/** By ids of tickets, and then of readings, as these are weighed. */
async function* weightParts(store: Store, asOf: number): AsyncGenerator<readonly [number, readonly NamedWeight[]]> {
  const yards = await unitYards(store.db)
  const partOf = ({ weighing, ticketId }: Weight) =>
    Math.floor((Math.floor(weighing / 2) - 1) / weighingsAPart) + (ticketId === null ? firstOfReadings : 0)
  const ids = (all: readonly (number | null)[]) => [...new Set(all.filter((id) => id !== null))]
  const made = eachWeighing(store, (weighing) => weightsIn(weighing, yards), {
    asOf,
    ids: partsAtOnce * weighingsAPart,
  })
  for await (const weights of made)
    for (const [part, own] of Map.groupBy(weights.flat(), partOf)) {
      const readingIds = ids(own.map(({ readingId }) => readingId))
      const names = await nameWeighings(store.db, readingIds, ids(own.map(({ ticketId }) => ticketId)))
      yield [part, own.map((weight) => withNames(weight, names))]
    }
}

/**
 * The tables of a reporting copy; asOf: the day for which the stored judgements are, ms UTC. What they tell is read
 * when their parts are asked for.
 */
export function publishedTables(store: Store, rules: HouseRules, asOf: number): readonly PublishedTable[] {
  const { db } = store
  return [
    publishedTable('unit', 'Every unit of a fleet as its Roster shows it', {
      columns: unitColumns,
      key: ['unit'],
      parts: () => byUnit(listRoster(store), ({ unitId }) => unitId),
    }),
    publishedTable('standing', 'Every axle group with a sensor: its line, and whether that can be trusted', {
      columns: standingColumns,
      key: ['unit', 'axle_group'],
      parts: async function* () {
        yield* byUnit(await listGroupStandings(db), ({ unit_id: unitId }) => unitId)
      },
    }),
    publishedTable('finding', 'What is wrong or needs work; what was set aside is not among it', {
      columns: findingColumns(rules),
      parts: async function* () {
        yield* byUnit(await listAllFindings(db, undefined), ({ unitId }) => unitId)
      },
    }),
    publishedTable('weighing', 'Every weighing with each unit that stood in it, and the verdicts about it', {
      columns: weighingColumns(rules),
      key: ['weighing', 'unit'],
      parts: () => weighingParts(store),
    }),
    publishedTable('weight', 'Every weight of a group and every gross, by tickets and by pressures', {
      columns: weightColumns(rules),
      parts: () => weightParts(store, asOf),
    }),
    publishedTable('heavy', 'The Heavy Log: weights over a limit or too close to call, and the worst bridge sets', {
      columns: heavyColumns(rules),
      parts: () => heavyByDay(store, rules.zone),
    }),
    publishedTable('cell', 'The battery cell of every mounted sensor, as of the end of the day of judgement', {
      columns: cellColumns(rules),
      key: ['serial'],
      parts: async function* () {
        const figures = (await readFigures(db))?.figures
        const { mounted } = readFleetCells(store, rules, asOf, {
          laws: figures?.cellLaws,
          heardUntil: figures?.heardUntil,
        })
        const yards = await yardNames(db)
        const cells = mounted.map((cell): Cell => {
          const { yardId } = cell.seat
          return { ...cell, yard: yardId === null ? null : (yards.get(yardId) ?? null) }
        })
        yield* byUnit(cells, ({ seat }) => seat.unitId)
      },
    }),
  ]
}
