import type { GroupAssessment } from '#core/findings/assessment.ts'
import { type Finding, type Severity, severities, trustStates } from '#core/findings/finding.ts'
import { judgeEach, judgeStore } from '#core/store/assessment.ts'
import { type NamedFinding, nameFindings } from '#core/store/fleet-lists.ts'
import { findUnit } from '#core/store/unit-sheet.ts'
import { readZone } from '#core/store/zone.ts'
import { dayOf } from '#core/words/day.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { sayStored } from '#core/words/say.ts'
import { count } from '#core/words/text.ts'
import {
  type Command,
  type CommandInput,
  UsageError,
  asOfOption,
  dbOption,
  askedMoment,
  withStore,
} from '#electron/command/command.ts'

function readFailOn(input: CommandInput): Severity | undefined {
  const text = input.textOr('fail-on')
  if (text === undefined) return undefined
  const severity = severities.find((each) => each === text)
  if (!severity) throw new UsageError(`--fail-on is "${text}"; ${severities.join(', ')} are accepted.`)
  return severity
}

function findingText(finding: NamedFinding, zone: string): string {
  const { unit, group, circuit, scale, ticket, code, severity, since, message, next_step } = finding
  const about =
    [unit, group, circuit].filter((name) => name !== null).join(' ') ||
    (scale === null ? `ticket ${ticket}` : `scale ${scale}`)
  return (
    `${severity.toUpperCase().padEnd(4)}  ${about}  ` +
    `${code}${since === null ? '' : `  since ${dayOf(fromStoredInstant(since), zone)}`}\n      ${message}\n      ` +
    `${next_step}`
  )
}

/** Says what the evidence contradicts, and what to do about it. */
export const findingsCommand: Command = {
  name: 'findings',
  summary: 'Say what is wrong or needs work, since when, with the numbers and the next step.',
  arguments: [],
  options: {
    db: dbOption,
    'as-of': asOfOption,
    unit: { type: 'string', value: 'UNIT', about: 'only what is about this unit' },
    'fail-on': {
      type: 'string',
      value: 'SEVERITY',
      about: 'exit with 1 where a finding is as bad as this: stop, warn or note',
    },
  },
  run: (input) =>
    withStore(input.text('db'), async (store) => {
      const failOn = readFailOn(input)
      const number = input.textOr('unit')
      const unit = number === undefined ? undefined : await findUnit(store.db, number)
      if (number !== undefined && !unit) throw new UsageError(`There is no unit ${number} in this file.`)
      const zone = await readZone(store.db)
      const { groups, others } = await judgeStore(store, askedMoment(input, zone))
      const found: Finding[] = []
      for (const group of groups) found.push(...group.findings)
      found.push(...others)
      const asked = unit ? found.filter(({ unitId }) => unitId === unit.id) : found
      const named = await nameFindings(store.db, asked, sayStored(await readZone(store.db)))
      const failed =
        failOn !== undefined && asked.some(({ severity }) => severities.indexOf(severity) <= severities.indexOf(failOn))
      return {
        document: named,
        text:
          named.length === 0
            ? 'Nothing was found.'
            : [...named.map((finding) => findingText(finding, zone)), count(named.length, 'finding')].join('\n'),
        exit: failed ? 1 : 0,
      }
    }),
}

/**
 * One group as the document has it: a, lb; b, lb per psi; u_limit_lb, the standard uncertainty of a weight at the
 * limit, null where work since has broken the line.
 */
function trustRow({ history, trust, current, ageDays, dueOn, uLimitLb }: GroupAssessment) {
  return {
    unit: history.unit,
    group: history.group,
    trust,
    calibrated_at: current ? toStoredInstant(current.calibration.calibratedAt) : null,
    age_days: ageDays,
    due_on: dueOn,
    a: current?.line.a ?? null,
    b: current?.line.b ?? null,
    u_limit_lb: uLimitLb,
  }
}
type TrustRow = ReturnType<typeof trustRow>

function trustText(rows: readonly TrustRow[], zone: string): string {
  const width = Math.max(4, ...rows.map(({ unit, group }) => unit.length + group.length + 1))
  const lines = rows.map(({ unit, group, trust, calibrated_at, due_on, u_limit_lb }) => {
    const line =
      calibrated_at === null
        ? 'no line'
        : `calibrated ${dayOf(fromStoredInstant(calibrated_at), zone)}, due ${due_on ?? 'never'}, ` +
          (u_limit_lb === null ? 'broken by work since' : `${sayStored(zone).plusMinus(u_limit_lb)} at the limit`)
    return `${`${unit} ${group}`.padEnd(width)}  ${trust.padEnd(12)}  ${line}`
  })
  const counts = trustStates
    .map((trust) => [trust, rows.filter((row) => row.trust === trust).length] as const)
    .filter(([, groups]) => groups > 0)
  return [
    ...lines,
    `${count(rows.length, 'group')}: ${counts.map(([trust, groups]) => `${groups} ${trust}`).join(', ')}.`,
  ].join('\n')
}

/** Tells of every sensed group whether its line can be trusted. */
export const trustCommand: Command = {
  name: 'trust',
  summary: 'Say of every group with a sensor whether its line can be trusted, until when, and how sure it is.',
  arguments: [],
  options: { db: dbOption, 'as-of': asOfOption },
  run: (input) =>
    withStore(input.text('db'), async (store) => {
      const zone = await readZone(store.db)
      const rows = await judgeEach(store, askedMoment(input, zone), trustRow)
      return { document: rows, text: rows.length === 0 ? 'No group has a sensor yet.' : trustText(rows, zone) }
    }),
}
