import { type Finding, type Severity, severities } from '#core/findings/finding.ts'
import { judgeStore } from '#core/store/assessment.ts'
import { type NamedFinding, nameFindings } from '#core/store/names.ts'
import { findUnit } from '#core/store/unit-sheet.ts'
import { asOfOption, readAsOf } from '#electron/command/as-of.ts'
import { amount, type Command, type CommandInput, dbOption, UsageError } from '#electron/command/command.ts'
import { withStore } from '#electron/command/with-store.ts'

function readFailOn(input: CommandInput): Severity | undefined {
  const text = input.textOr('fail-on')
  if (text === undefined) return undefined
  const severity = severities.find((each) => each === text)
  if (!severity) throw new UsageError(`--fail-on is "${text}"; ${severities.join(', ')} are accepted.`)
  return severity
}

function findingText({
  unit,
  group,
  circuit,
  scale,
  ticket,
  code,
  severity,
  since,
  message,
  next_step,
}: NamedFinding): string {
  const about =
    [unit, group, circuit].filter((name) => name !== null).join(' ') ||
    (scale === null ? `ticket ${ticket}` : `scale ${scale}`)
  return `${severity.toUpperCase().padEnd(4)}  ${about}  ${code}${since === null ? '' : `  since ${since.slice(0, 10)}`}\n      ${message}\n      ${next_step}`
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
      const { groups, others } = await judgeStore(store, readAsOf(input))
      const found: Finding[] = []
      for (const group of groups) found.push(...group.findings)
      found.push(...others)
      const asked = unit ? found.filter(({ unitId }) => unitId === unit.id) : found
      const named = await nameFindings(store.db, asked)
      const failed =
        failOn !== undefined && asked.some(({ severity }) => severities.indexOf(severity) <= severities.indexOf(failOn))
      return {
        document: named,
        text:
          named.length === 0
            ? 'Nothing was found.'
            : [...named.map(findingText), amount(named.length, 'finding')].join('\n'),
        exit: failed ? 1 : 0,
      }
    }),
}
