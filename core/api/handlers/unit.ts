import { freshJudgements } from '#core/api/freshen.ts'
import { onFleet } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import { printedFile, sheetHead, spreadsheetFile } from '#core/api/sheet-files.ts'
import {
  pointKey,
  viewAsFound,
  viewCalibration,
  viewDismissals,
  viewStanding,
  viewSums,
  viewTrack,
  viewWeighNext,
} from '#core/api/unit-view.ts'
import {
  type FindingView,
  type GroupView,
  type RosterOrderInput,
  type UnitSheetView,
  mostCabCards,
  mostRosterUnits,
} from '#core/contracts/unit.ts'
import type { GroupHistory } from '#core/evidence/history.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { rosterColumns } from '#core/exchange/documents/fleet-sheets.ts'
import { makeCabCards } from '#core/exchange/documents/cab-card.ts'
import { judgeFleet } from '#core/findings/assess-fleet.ts'
import type { FindingCode } from '#core/findings/finding.ts'
import { offeredFix } from '#core/findings/offered-fix.ts'
import { worseFirst } from '#core/findings/trust.ts'
import { cabCardsInThread } from '#core/jobs/in-thread.ts'
import { openUnits } from '#core/store/assessment.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { readFigures } from '#core/store/books.ts'
import { listDismissals, readDismissalMarks } from '#core/store/dismissals.ts'
import { listGroupRecords } from '#core/store/fleet-lists.ts'
import { countHeavy } from '#core/store/heavy.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { readRosterChoices, readRosterPage, readWholeRoster } from '#core/store/roster-lines.ts'
import { heardUntil } from '#core/store/silences.ts'
import {
  listCalibrations,
  listCircuits,
  listEvents,
  listMountedSensors,
  listNewestReadings,
  listPointNames,
  listTicketNames,
  listUnitFindings,
  unitByNumber,
} from '#core/store/unit-sheet.ts'
import { readZone } from '#core/store/zone.ts'
import { verdicts } from '#core/weight/verdict.ts'
import { type PreparedGroup, readyGroup, weighGroup } from '#core/weight/weigh.ts'
import { dayOf } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { type Say, sayOfRules } from '#core/words/say.ts'
import { sayFinding, saidOf } from '#core/words/sentences/findings.ts'
import { inFileName } from '#core/words/text.ts'
import { phrase } from '#core/words/phrase.ts'

const newestReadings = 50

function viewFindings(rows: Awaited<ReturnType<typeof listUnitFindings>>, unit: string, say: Say): FindingView[] {
  return rows
    .map(({ code, numbers, variant, facts, ...rest }) => ({
      ...rest,
      ...sayFinding(saidOf({ code, variant, facts }), say),
      fix: offeredFix(saidOf({ code, variant, facts }), { ...rest, unit }),
      code: code as FindingCode,
      numbers: JSON.parse(numbers) as FindingView['numbers'],
    }))
    .sort(worseFirst)
}

type ReadingView = UnitSheetView['readings'][number]

function viewReadings(
  rows: Awaited<ReturnType<typeof listNewestReadings>>,
  weightsOf: (readingId: number) => ReadingView['weights'],
): ReadingView[] {
  const readings = new Map<string, ReadingView>()
  for (const { reading, reading_id, taken_at, lift, ticket, ticket_id, scale, group, circuit, psi } of rows) {
    const known = readings.get(reading) ?? {
      reading,
      readingId: reading_id,
      takenAt: taken_at,
      ticket,
      ticketId: ticket_id,
      scale,
      lift,
      pressures: [],
      weights: weightsOf(reading_id),
    }
    known.pressures.push({ group, circuit, psi })
    readings.set(reading, known)
  }
  return [...readings.values()]
}

/** What groups weigh in a reading, by all evidence; of groups that are ready to weigh, with their observations. */
function weightsIn(
  groups: readonly { readonly history: GroupHistory; readonly ready: PreparedGroup }[],
): (readingId: number) => ReadingView['weights'] {
  const byReading = groups.map(({ history, ready }) => ({
    group: history.group,
    ready,
    observations: new Map(history.observations.map((observation) => [observation.readingId, observation])),
  }))
  return (readingId) =>
    byReading.flatMap(({ group, ready, observations }) => {
      const observation = observations.get(readingId)
      const weighing = observation && weighGroup(ready, observation)
      return weighing?.weighed ? [{ group, weightLb: weighing.weightLb, uLb: weighing.uLb }] : []
    })
}

/** Everything the Unit sheet shows of one unit, as known at `asOf` (ms). Refused when there is no such unit. */
export async function readUnitSheet(store: Store, number: string, asOf: number): Promise<UnitSheetView> {
  const { db } = store
  const unit = await unitByNumber(db, number)
  const rules = await readHouseRules(db)
  const say = sayOfRules(rules)
  const source = openUnits(store, [unit.id], asOf)
  const figures = (await readFigures(db))?.figures
  const judged = judgeFleet(source, rules, asOf, {
    known: figures?.estimates,
    heardUntil: figures?.heardUntil ?? heardUntil(store, asOf),
    dismissed: await readDismissalMarks(db),
  })
  const assessed = new Map(Array.from(judged.groups, (group) => [group.history.groupId, group]))
  const states = { rules, scales: source.scales, tickets: source.tickets, estimates: judged.estimates }
  const circuits = await listCircuits(db, unit.id)
  const sensors = await listMountedSensors(db, unit.id)
  const calibrations = await listCalibrations(db, unit.id)
  const names = new Map(
    (await listPointNames(db, unit.id)).map((name) => [
      pointKey({ ticketId: name.ticket_id, readingId: name.reading_id }),
      name,
    ]),
  )

  const tickets = new Map((await listTicketNames(db, unit.id)).map((ticket) => [ticket.id, ticket]))
  const ready = new Map(Array.from(assessed, ([id, { history }]) => [id, readyGroup(history, states)]))
  const rows = await listGroupRecords(db, unit.id)
  const groupNames = new Map(rows.map(({ id, name }) => [id, name]))
  const groups = rows.map((row): GroupView => {
    const ownCircuits = circuits.filter(({ group_id }) => group_id === row.id)
    const assessment = assessed.get(row.id)
    const limitLb = groupLimitLb({ limitLb: row.limit_lb, axles: row.axles, axleSpacingFt: row.axle_spacing_ft }, rules)
    return {
      id: row.id,
      name: row.name,
      role: row.role,
      axles: row.axles,
      firstAxleFt: row.first_axle_ft,
      axleSpacingFt: row.axle_spacing_ft,
      limitLb,
      limitRecorded: row.limit_lb !== null,
      measuredBy: row.measured_by,
      sensed: assessment !== undefined,
      toleranceLb: (rules.tolerancePercent / 100) * limitLb,
      ...viewStanding(assessment, ready.get(row.id), { rules, asOf, say }),
      weighNext: viewWeighNext(assessment, source.scales, say),
      track: assessment ? viewTrack(assessment, asOf, rules, tickets) : null,
      sums: assessment ? viewSums(assessment, tickets, groupNames) : [],
      asFound: assessment ? viewAsFound(assessment) : [],
      calibrations: assessment
        ? calibrations
            .filter(({ group_id }) => group_id === row.id)
            .map((calibration) => viewCalibration(calibration, assessment, names, source.scales, rules))
        : [],
      circuits: ownCircuits.map((circuit) => ({
        name: circuit.name,
        airSprings: circuit.air_springs,
        springAreaIn2: circuit.spring_area_in2,
        rideHeightIn: circuit.ride_height_in,
        sensors: sensors
          .filter(({ circuit_id }) => circuit_id === circuit.id)
          .map((sensor) => ({
            serial: sensor.serial,
            reference: sensor.reference,
            mountedAt: sensor.mounted_at,
            removedAt: sensor.removed_at,
            cell: sensor.cell ?? sensor.usual_cell,
            cellSince: sensor.changed_at,
            reportEveryS: sensor.report_every_s,
            rangePsi: sensor.range_psi,
            resolutionPsi: sensor.resolution_psi,
            accuracyPsi: sensor.accuracy_psi,
          })),
      })),
    }
  })

  return {
    asOf: toStoredInstant(asOf),
    unit: {
      number: unit.number,
      kind: unit.kind,
      vin: unit.vin,
      plate: unit.plate,
      plateRegion: unit.plate_region,
      make: unit.make,
      model: unit.model,
      modelYear: unit.model_year,
      yard: unit.yard,
      grossLimitLb: unit.gross_limit_lb,
      fifthWheelFt: unit.fifth_wheel_ft,
      retired: unit.service_state === 'retired',
    },
    groups,
    findings: viewFindings(await listUnitFindings(db, unit.id), unit.number, say),
    setAside: viewDismissals(await listDismissals(db, unit.id), say),
    events: (await listEvents(db, unit.id)).map(({ happened_at, ...event }) => ({ ...event, happenedAt: happened_at })),
    changedVerdicts: await countHeavy(db, { unitId: unit.id, verdicts, superseded: false, changed: true }),
    readings: viewReadings(
      await listNewestReadings(db, unit.id, newestReadings),
      weightsIn(
        Array.from(assessed.values()).flatMap(({ history }) => {
          const own = ready.get(history.groupId)
          return own ? [{ history, ready: own }] : []
        }),
      ),
    ),
  }
}

export const unitHandlers = {
  sheet: procedures.unit.sheet.handler(
    onFleet(async (store, input, { now, report }) => {
      await freshJudgements(store, now, report)
      return readUnitSheet(store, input.unit, judgedAt(now, await readZone(store.db)))
    }),
  ),
}

const usualPage = 100

/** What a page is asked with where it says nothing. */
const rosterAsked = ({ sort = 'unit', descending = false, retired = true, ...filter }: RosterOrderInput) => ({
  ...filter,
  sort,
  descending,
  retired,
})

async function exportRoster(
  store: Store,
  { format, ...asked }: RosterOrderInput & { readonly format: 'spreadsheet' | 'pdf' },
  asOf: number,
): Promise<File> {
  const rows = await readWholeRoster(store, rosterAsked(asked), mostRosterUnits + 1)
  if (rows.length > mostRosterUnits)
    throw new TarelineError(
      'too-many',
      phrase('At most {most, number} units go into one file. Narrow the Roster.', { most: mostRosterUnits }),
    )
  const head = await sheetHead(store, phrase('Roster'), asOf)
  return format === 'pdf'
    ? printedFile(store, rosterColumns, rows, head)
    : spreadsheetFile(store, rosterColumns, rows, head)
}

export const rosterHandlers = {
  list: procedures.roster.list.handler(
    onFleet(async (store, input, { now, report }) => {
      const { offset = 0, limit = usualPage, at, ...asked } = input ?? {}
      const asOf = await freshJudgements(store, now, report)
      return {
        ...(await readRosterPage(store, { ...rosterAsked(asked), offset, limit, at })),
        asOf: toStoredInstant(asOf),
        choices: await readRosterChoices(store),
      }
    }),
  ),
  sensed: procedures.roster.sensed.handler(
    onFleet(async (store, asked, { now, report }) => {
      await freshJudgements(store, now, report)
      const rows = await readWholeRoster(store, { ...rosterAsked(asked), sensed: true }, mostCabCards)
      return rows.map(({ unit }) => unit)
    }),
  ),
  export: procedures.roster.export.handler(
    onFleet(async (store, asked, { now, report }) =>
      exportRoster(store, asked, await freshJudgements(store, now, report)),
    ),
  ),
}

/** More cards than these keep the procedures waiting for longer than a thread takes to start. */
const fewCards = 20

export const cabCardHandlers = {
  make: procedures.cabCard.make.handler(
    onFleet(async (store, input, { now, report }) => {
      await freshJudgements(store, now, report)
      const units = [...new Set(input.units)]
      const name = units.length === 1 ? `cab-card-${inFileName(units[0] ?? '')}` : 'cab-cards'
      const pages =
        units.length <= fewCards
          ? await makeCabCards(store, units, now)
          : await cabCardsInThread(store.file, units, now)
      return new File([pages], `${name}-${dayOf(now, await readZone(store.db))}.pdf`, { type: 'application/pdf' })
    }),
  ),
}
