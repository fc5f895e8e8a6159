import type { z } from 'zod'
import { refusal } from '#core/api/answer-errors.ts'
import { afterChange } from '#core/api/freshen.ts'
import { onFleet } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import type { addAttachmentInput } from '#core/contracts/attachment.ts'
import type { Corrected, EvidenceListInput, EvidenceView, correctInput } from '#core/contracts/evidence.ts'
import { type CalibratedLine, calibrateGroup } from '#core/evidence/calibrate.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { offeredFix } from '#core/findings/offered-fix.ts'
import { openUnits } from '#core/store/assessment.ts'
import { keepAttachment, readAttachment } from '#core/store/attachments.ts'
import { recordChanges } from '#core/store/change-log.ts'
import { timeNow } from '#core/store/clock.ts'
import {
  type PageAsked,
  listAllCalibrations,
  listPressuresOf,
  listReadings,
  listTicketFindings,
  listTickets,
  listTogetherOf,
  listWeightsOf,
} from '#core/store/evidence-lists.ts'
import {
  type Evidence,
  alone,
  correctEvidence,
  inPairs,
  listTicketReadings,
  listUses,
  readEvidence,
} from '#core/store/evidence.ts'
import { readFileState } from '#core/store/file-state.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { refuseIfToLook } from '#core/store/look-copy.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { digestOf, rememberSave, saveOnce } from '#core/store/sent-saves.ts'
import { attach, findAttachment, findTicket, listAttachments, takeOff } from '#core/store/ticket-attachments.ts'
import { unitByNumber } from '#core/store/unit-sheet.ts'
import { checkAttachment, keptName, plainName, sizeProblem } from '#core/words/attachment-file.ts'
import { dotsProblem } from '#core/words/picture-size.ts'
import { type HouseRules, namesDrivers } from '#core/words/house-rules.ts'
import { clockSlackMs, fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { sayOfRules } from '#core/words/say.ts'
import { sayFinding, saidOf } from '#core/words/sentences/findings.ts'
import { FieldError, type Result, TarelineError } from '#core/words/problem.ts'
import { measuresOfRule } from '#core/words/measures.ts'
import { type FormAsked, fieldProblems } from '#core/words/record-fields.ts'
import { sayLineProblem } from '#core/words/sentences/line-problems.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

type CorrectInput = z.infer<typeof correctInput>
type AddInput = z.infer<typeof addAttachmentInput>

const usualPage = 50

/** One row more than asked for tells whether there is another page. */
async function pageOf(
  { db }: Store,
  { unit, limit = usualPage, ...asked }: EvidenceListInput,
): Promise<PageAsked & { limit: number }> {
  return { ...asked, limit: limit + 1, unitId: unit === undefined ? undefined : (await unitByNumber(db, unit)).id }
}

function cut<Row extends { readonly id: number }>(
  rows: readonly Row[],
  limit: number,
  at: (row: Row) => string,
): { page: readonly Row[]; next: { at: string; id: number } | null } {
  const page = rows.slice(0, limit - 1)
  const last = page.at(-1)
  return { page, next: rows.length === limit && last ? { at: at(last), id: last.id } : null }
}

async function viewOf(db: Reader, evidence: Evidence, now: number): Promise<EvidenceView> {
  const { kind, id, key, name, units, parts, scales } = evidence
  const at = evidence.values[kind === 'ticket' ? 'weighed_at' : 'taken_at']
  const { driver, ...values } = evidence.values
  const rules = await readHouseRules(db)
  const uses = await listUses(db, kind, id)
  const single = alone(parts)
  const placeOf = (groupId: number | undefined) => single.find((part) => part.groupId === groupId)?.place ?? ''
  return {
    kind,
    id,
    key,
    name,
    units: [...units],
    places: single.map(({ place }) => place),
    pairs: inPairs(parts).map(({ place, groupId, withGroupId }) => ({
      place,
      of: [placeOf(groupId), placeOf(withGroupId)],
    })),
    scales: scales.map(({ name }) => name),
    values: namesDrivers(rules) ? evidence.values : values,
    ahead: fromStoredInstant(String(at)) > judgedAt(now, rules.zone),
    lines: uses.map((use) => ({
      id: use.id,
      unit: use.unit,
      group: use.group,
      calibratedAt: use.calibrated_at,
      voided: use.voided_at !== null,
    })),
  }
}

interface LineOfEvidence {
  readonly unit: string
  readonly group: string
  readonly calibratedAt: number
  readonly limitLb: number
  readonly fitted: Result<CalibratedLine>
}

/** The valid calibrations that rest on a ticket or reading, fitted as the record stands, by their ids. */
function linesOn(
  store: Store,
  { kind, id, unitIds }: Evidence,
  rules: HouseRules,
  now: number,
): Map<number, LineOfEvidence> {
  const source = openUnits(store, unitIds, now + clockSlackMs)
  const found = new Map<number, LineOfEvidence>()
  for (const { groupId } of source.groups) {
    const history = source.historyOf(groupId)
    for (const calibration of history?.calibrations ?? []) {
      if (
        !history ||
        !calibration.points.some(({ ticketId, readingId }) => (kind === 'ticket' ? ticketId : readingId) === id)
      )
        continue
      const { unit, group } = history
      found.set(calibration.calibrationId, {
        unit,
        group,
        calibratedAt: calibration.calibratedAt,
        limitLb: groupLimitLb(history, rules),
        fitted: calibrateGroup(history, calibration, (scaleId) => source.scales.get(scaleId), rules),
      })
    }
  }
  return found
}

const view = ({ fit: { a, b, chi2, chi2Limit95 } }: CalibratedLine) => ({ a, b, chi2, chi2Limit95 })

/**
 * The lines that come out otherwise, before and after; refused where what is typed would leave a calibration without a
 * line.
 */
function compareLines(
  before: ReadonlyMap<number, LineOfEvidence>,
  after: ReadonlyMap<number, LineOfEvidence>,
  rules: HouseRules,
): Corrected['lines'] {
  const say = sayOfRules(rules)
  return Array.from(after).flatMap(([calibrationId, { unit, group, calibratedAt, limitLb, fitted }]) => {
    const known = before.get(calibrationId)?.fitted
    if (!fitted.ok) {
      // One that makes no line as it stands may be mended step by step.
      if (known?.ok === false) return []
      const { code, accepted } = fitted.problem
      throw refusal({
        code,
        field: '',
        value: `${unit} ${group}`,
        accepted,
        message: phrase(
          '{unit} {group}: with this its calibration of {calibratedAt} makes no line. {problem} Nothing was saved.',
          { unit, group, calibratedAt: say.day(calibratedAt), problem: sayLineProblem(fitted.problem, say) },
        ),
      })
    }
    const old = known?.ok ? known.value.fit : null
    const now = fitted.value.fit
    if (old && old.a === now.a && old.b === now.b && old.chi2 === now.chi2) return []
    return [
      {
        unit,
        group,
        calibratedAt: toStoredInstant(calibratedAt),
        limitLb,
        before: known?.ok ? view(known.value) : null,
        after: view(fitted.value),
        atLimitLb: old && now.a + (now.b * (limitLb - old.a)) / old.b - limitLb,
      },
    ]
  })
}

/** Leaves the transaction without storing anything. */
class TriedOut extends Error {
  readonly outcome: Corrected

  constructor(outcome: Corrected) {
    super(phrase('what was only tried out is rolled back'))
    this.outcome = outcome
  }
}

/** Refuses what the fields do not accept; the window has checked the same before. */
function checkValues(
  { kind, fields }: Evidence,
  { was, now: typed, reason, tryOut }: CorrectInput,
  asked: FormAsked,
): void {
  const unknown = [...Object.keys(was), ...Object.keys(typed)].find((column) => !Object.hasOwn(fields, column))
  if (unknown !== undefined)
    throw new FieldError(
      'no-such-field',
      unknown,
      phrase('This {kind} has no field {unknown}. Nothing was saved.', {
        kind: word(kind),
        unknown: unknown.slice(0, 80),
      }),
    )
  const [problem] = fieldProblems(fields, typed, asked)
  if (problem) throw new FieldError('not-accepted', problem.field, problem.message)
  if (reason === '' && !tryOut)
    throw new FieldError(
      'no-reason',
      'reason',
      phrase('The reason is empty; the change log keeps why it was corrected.'),
    )
}

async function correct(
  store: Store,
  input: CorrectInput,
  now: number,
  report: (error: unknown) => void,
): Promise<Corrected> {
  const { kind, id, was, now: typed, reason, by, tryOut } = input
  const rules = await readHouseRules(store.db)
  const evidence = await readEvidence(store.db, kind, id)
  const change = async (db: Parameters<typeof correctEvidence>[0]) => {
    checkValues(evidence, input, { now, measures: measuresOfRule(rules.measures), whole: false })
    const before = linesOn(store, evidence, rules, now)
    const changes = await correctEvidence(db, { kind, id, was, now: typed, reason })
    const outcome: Corrected = {
      changed: changes.length > 0,
      lines: changes.length > 0 ? compareLines(before, linesOn(store, evidence, rules, now), rules) : [],
    }
    if (tryOut) throw new TriedOut(outcome)
    await recordChanges(db, { by, at: toStoredInstant(now) }, changes)
    return outcome
  }
  try {
    const { revision: after } = await readFileState(store.db)
    const outcome = await store.db.transaction().execute(change)
    if (!outcome.changed) return outcome
    await afterChange(store, { now, report, after })
    return outcome
  } catch (error) {
    if (error instanceof TriedOut) return error.outcome
    throw error
  }
}

async function viewTicketFindings(db: Reader, ticketId: number) {
  const say = sayOfRules(await readHouseRules(db))
  return (await listTicketFindings(db, ticketId)).map((found) => ({
    code: found.code,
    severity: found.severity,
    message: sayFinding(saidOf(found), say).message,
    fix: offeredFix(saidOf(found), { ...found, ticketId }),
  }))
}

export const evidenceHandlers = {
  tickets: procedures.evidence.tickets.handler(
    onFleet(async (store, input) => {
      const asked = await pageOf(store, input)
      const { page, next } = cut(await listTickets(store.db, asked), asked.limit, (row) => row.weighed_at)
      const ids = page.map(({ id }) => id)
      const weights = Map.groupBy(
        [...(await listWeightsOf(store.db, ids)), ...(await listTogetherOf(store.db, ids))],
        (row) => row.ticket_id,
      )
      return {
        next,
        rows: page.map(({ id, number, scale, weighed_at, gross_lb, readings, lines, attachments }) => {
          const own = weights.get(id) ?? []
          return {
            id,
            number,
            scale,
            weighedAt: weighed_at,
            grossLb: gross_lb,
            readings: readings ?? 0,
            lines: lines ?? 0,
            attachments: attachments ?? 0,
            units: [...new Set(own.map(({ unit }) => unit))],
            weights: own.flatMap(({ unit, group, weight_lb: value }) =>
              value === null ? [] : [{ place: `${unit} ${group}`, value }],
            ),
          }
        }),
      }
    }),
  ),
  readings: procedures.evidence.readings.handler(
    onFleet(async (store, input) => {
      const asked = await pageOf(store, input)
      const { page, next } = cut(await listReadings(store.db, asked), asked.limit, (row) => row.taken_at)
      const pressures = Map.groupBy(
        await listPressuresOf(
          store.db,
          page.map(({ id }) => id),
        ),
        (row) => row.reading_id,
      )
      return {
        next,
        rows: page.map(({ id, name, taken_at, lift, ticket_id, ticket }) => ({
          id,
          reading: name,
          takenAt: taken_at,
          lift,
          ticketId: ticket_id,
          ticket,
          pressures: (pressures.get(id) ?? []).map(({ unit, group, circuit, psi }) => ({
            place: `${unit} ${group} ${circuit}`,
            value: psi,
          })),
        })),
      }
    }),
  ),
  calibrations: procedures.evidence.calibrations.handler(
    onFleet(async (store, input) => {
      const asked = await pageOf(store, input)
      const { page, next } = cut(await listAllCalibrations(store.db, asked), asked.limit, (row) => row.calibrated_at)
      return {
        next,
        rows: page.map(
          ({
            id,
            unit,
            group,
            calibrated_at,
            calibrated_by,
            points,
            voided_at,
            voided_by,
            void_reason,
            a,
            b,
            u_limit_lb,
          }) => ({
            id,
            unit,
            group,
            calibratedAt: calibrated_at,
            by: calibrated_by,
            points: points ?? 0,
            voided: voided_at === null ? null : { at: voided_at, by: voided_by, reason: void_reason ?? '' },
            line: a === null || b === null || voided_at !== null ? null : { a, b, uLimitLb: u_limit_lb },
          }),
        ),
      }
    }),
  ),
  sheet: procedures.evidence.sheet.handler(
    onFleet(async ({ db }, { kind, id }, { now }) => {
      const evidence = await readEvidence(db, kind, id)
      const readings = kind === 'ticket' ? await listTicketReadings(db, id) : []
      return {
        ...(await viewOf(db, evidence, now)),
        ticketId: evidence.ticketId,
        readings: await Promise.all(
          readings.map(async (reading) => viewOf(db, await readEvidence(db, 'reading', reading.id), now)),
        ),
        findings: kind === 'ticket' ? await viewTicketFindings(db, id) : [],
      }
    }),
  ),
  correct: procedures.evidence.correct.handler(
    onFleet((store, input, { now, report }) => correct(store, input, now, report)),
  ),
}

/** Keeps a file, then names it: a row is written only once its file is in place. */
async function add(store: Store, { ticketId, file, by, sentId }: AddInput) {
  refuseIfToLook(store)
  const given = plainName(file.name)
  const unfit = sizeProblem(given, file.size)
  if (unfit) throw refusal(unfit)
  const ticket = await findTicket(store.db, ticketId)
  const bytes = new Uint8Array(await file.arrayBuffer())
  const checked = checkAttachment(given, bytes)
  if (!checked.ok) throw refusal(checked.problem)
  const { type, warning } = checked.value
  const unseen = type === 'application/pdf' ? undefined : dotsProblem(given, bytes)
  if (unseen) throw refusal(unseen)
  const record = {
    sha256: keepAttachment(store.file, bytes),
    name: keptName(given, type),
    type,
    bytes: bytes.byteLength,
  }
  const at = toStoredInstant(timeNow())
  const sent = sentId === undefined ? undefined : { id: sentId, digest: digestOf([ticketId, record.sha256, by]) }
  return await saveOnce(store.db, sent, () =>
    store.db.transaction().execute(async (db) => {
      const added = await attach(db, ticket, record, { by, at })
      const stored = await findAttachment(db, ticketId, record.sha256)
      const answer = { added, sha256: record.sha256, name: stored?.name ?? record.name, warning }
      await rememberSave(db, sent, answer, at)
      return answer
    }),
  )
}

export const attachmentHandlers = {
  list: procedures.attachment.list.handler(
    onFleet(async ({ db }, input) => await listAttachments(db, (await findTicket(db, input.ticketId)).id)),
  ),
  add: procedures.attachment.add.handler(onFleet((store, input) => add(store, input))),
  read: procedures.attachment.read.handler(
    onFleet(async ({ db, file }, { ticketId, sha256 }) => {
      const found = await findAttachment(db, ticketId, sha256)
      if (!found)
        throw new TarelineError('no-such-attachment', phrase('This is not, or no longer, attached to the ticket.'))
      return new File([readAttachment(file, found)], keptName(found.name, found.type), { type: found.type })
    }),
  ),
  takeOff: procedures.attachment.takeOff.handler(
    onFleet(({ db }, { ticketId, sha256, reason, by }, { now }) =>
      db.transaction().execute(async (writer) => {
        const { name } = await takeOff(writer, await findTicket(writer, ticketId), sha256, reason, {
          by,
          at: toStoredInstant(now),
        })
        return { name }
      }),
    ),
  ),
}
