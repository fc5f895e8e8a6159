import { trustStates } from '#core/findings/finding.ts'
import type { GroupAssessment } from '#core/findings/assessment.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { judgeStore } from '#core/store/assessment.ts'
import { asOfOption, readAsOf } from '#electron/command/as-of.ts'
import { amount, type Command, dbOption } from '#electron/command/command.ts'
import { withStore } from '#electron/command/with-store.ts'

/**
 * One group as the document has it: a, lb; b, lb per psi; u_limit_lb, the standard uncertainty of a weight at the
 * limit.
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

function trustText(rows: readonly TrustRow[]): string {
  const width = Math.max(4, ...rows.map(({ unit, group }) => unit.length + group.length + 1))
  const lines = rows.map(({ unit, group, trust, calibrated_at, due_on, u_limit_lb }) => {
    const line =
      calibrated_at === null
        ? 'no line'
        : `calibrated ${calibrated_at.slice(0, 10)}, due ${due_on ?? 'never'}, ± ${Math.round((2 * (u_limit_lb ?? 0)) / 10) * 10} lb at the limit`
    return `${`${unit} ${group}`.padEnd(width)}  ${trust.padEnd(12)}  ${line}`
  })
  const counts = trustStates
    .map((trust) => [trust, rows.filter((row) => row.trust === trust).length] as const)
    .filter(([, count]) => count > 0)
  return [
    ...lines,
    `${amount(rows.length, 'group')}: ${counts.map(([trust, count]) => `${count} ${trust}`).join(', ')}.`,
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
      const rows: TrustRow[] = []
      for (const group of (await judgeStore(store, readAsOf(input))).groups) rows.push(trustRow(group))
      return { document: rows, text: rows.length === 0 ? 'No group has a sensor yet.' : trustText(rows) }
    }),
}
