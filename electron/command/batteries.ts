import type { MountedCell } from '#core/battery/fleet-cells.ts'
import { dayOf, toStoredInstant } from '#core/fleet/instant.ts'
import { readFleetCells } from '#core/store/battery-cells.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { asOfOption, readAsOf } from '#electron/command/as-of.ts'
import { amount, type Command, dbOption } from '#electron/command/command.ts'
import { withStore } from '#electron/command/with-store.ts'

/**
 * One sensor as the document has it. installed_on, swap_by: days; risk: chance, 0 to 1, that the cell dies before the
 * next visit.
 */
function cellRow({ seat, outlook }: MountedCell, contradictions: ReadonlyMap<string, string[]>) {
  return {
    serial: outlook.serial,
    unit: seat.unit,
    group: seat.group,
    circuit: seat.circuit,
    installed_on: dayOf(outlook.installedAt),
    swap_by: dayOf(outlook.swapByAt),
    risk: outlook.riskBeforeVisit,
    cell: outlook.cell,
    report_every_s: outlook.reportEveryS,
    state: outlook.state,
    // No change is recorded: a fresh cell at the mounting is assumed.
    installed_assumed: outlook.installAssumed,
    age_days: Math.floor(outlook.ageDays),
    next_visit_on: dayOf(outlook.nextVisitAt),
    next_visit_assumed: outlook.visitAssumed,
    predicted_end_on: dayOf(outlook.predictedEndAt),
    contradictions: contradictions.get(outlook.serial) ?? [],
  }
}
type CellRow = ReturnType<typeof cellRow>

const percent = (share: number) => `${(share * 100).toFixed(share < 0.1 ? 1 : 0)} %`

function rowText({
  serial,
  unit,
  group,
  circuit,
  cell,
  installed_on,
  installed_assumed,
  swap_by,
  risk,
  state,
  next_visit_on,
  next_visit_assumed,
}: CellRow): string {
  const since = `in since ${installed_on}${installed_assumed ? ' (no change recorded; counted from the mounting)' : ''}`
  const visit = next_visit_assumed
    ? `by ${next_visit_on}, when no visit is planned`
    : `before the visit on ${next_visit_on}`
  return `${state === 'fine' ? '    ' : state === 'due' ? 'DUE ' : 'OVER'}  ${unit} ${group} ${circuit}  ${serial}${cell === null ? '' : `  ${cell}`}  ${since}  swap by ${swap_by}  ${percent(risk)} risk ${visit}`
}

/** Says when the cell of each mounted sensor is to be swapped. */
export const batteriesCommand: Command = {
  name: 'batteries',
  summary:
    'Say of every mounted sensor when its cell went in, by when to swap it, and how likely it dies before the next visit.',
  arguments: [],
  options: { db: dbOption, 'as-of': asOfOption },
  run: (input) =>
    withStore(input.text('db'), async (store) => {
      const rules = await readHouseRules(store.db)
      const { mounted, issues } = readFleetCells(store, rules, readAsOf(input))
      const contradictions = new Map<string, string[]>()
      for (const { serial, message } of issues)
        contradictions.set(serial, [...(contradictions.get(serial) ?? []), message])
      const rows = mounted
        .map((cell) => cellRow(cell, contradictions))
        .sort((p, q) => (p.swap_by < q.swap_by ? -1 : p.swap_by > q.swap_by ? 1 : q.risk - p.risk))
      const count = (state: CellRow['state']) => rows.filter((row) => row.state === state).length
      const assumed = rows.filter(({ installed_assumed }) => installed_assumed).length
      const closing = [
        `${amount(rows.length, 'sensor')}: ${count('overdue')} overdue, ${count('due')} due, ${count('fine')} fine.`,
        ...(assumed > 0 ? [`${amount(assumed, 'cell')} without a recorded change: counted from the mounting.`] : []),
      ]
      return {
        document: rows,
        text: rows.length === 0 ? 'No sensor is mounted.' : [...rows.map(rowText), ...closing].join('\n'),
        messages: issues.map(({ message, at }) => `${message} (${toStoredInstant(at).slice(0, 10)})`),
      }
    }),
}
