import type { ForeignPreview } from '#core/contracts/foreign.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { columnUses } from './mapping-draft.ts'

/** A cell of so many characters stands on one line; longer ones may break. */
const shortCell = 24

type Row = ForeignPreview['rows'][number]

/** The first rows as the file has them: each column with what it fills, and what is wrong at its very cell. */
export function FilePreview({ preview: { mapping, columns, rows } }: { preview: ForeignPreview }) {
  const { weight } = useMeasures()
  const uses = columnUses(mapping)
  const isOfRow = ({ column }: Row['problems'][number]) => column === null || !columns.includes(column)
  const wrong = (problems: readonly { readonly message: string }[]) =>
    problems.map(({ message }) => (
      <span key={message} className="foreign-wrong">
        ✕ {message}
      </span>
    ))
  return (
    <SheetTable
      frame="foreign-frame"
      caption="The first rows of the file"
      rows={rows}
      keyOf={({ line }) => line}
      columns={[
        ['Line', ({ line }) => count(line), 'figure'],
        ...columns.map(
          (column, at) =>
            [
              <span key={column}>
                {column ?? 'passed over'}
                <span className="foreign-use">
                  {column === null ? '' : (uses.get(column)?.join(', ') ?? 'not used')}
                </span>
              </span>,
              ({ cells, problems, light }: Row) => {
                const text = cells[at] ?? ''
                const own = problems.filter((problem) => problem.column !== null && problem.column === column)
                return (
                  <div data-wrong={own.length > 0 || undefined}>
                    <span className={text.length <= shortCell ? 'nowrap' : undefined}>{text}</span>
                    {wrong(own)}
                    {light
                      .filter((each) => each.column === column)
                      .map(({ weightLb }) => (
                        <span key={weightLb} className="foreign-wrong">
                          ! {weight.text(weightLb)} is little for an axle group. Look at the decimal sign and the unit
                          of the weights.
                        </span>
                      ))}
                  </div>
                )
              },
            ] as const,
        ),
        rows.some(({ problems }) => problems.some(isOfRow)) && [
          'The whole row',
          ({ problems }) => wrong(problems.filter(isOfRow)),
        ],
      ]}
    />
  )
}

/** The same rows as they would be stored, in the measures in use. */
export function StoredPreview({ preview: { mapping, rows } }: { preview: ForeignPreview }) {
  const { weight, pressure, elevation, temperature, times } = useMeasures()
  const stored = rows.flatMap(({ line, stored: each }) => each.map((row, at) => ({ ...row, line, part: at })))
  if (stored.length === 0) return <p>None of these rows can be read yet.</p>
  const isTickets = mapping.kind === 'tickets'
  const has = (key: 'grossLb' | 'ticket' | 'elevationFt' | 'temperatureF' | 'lift' | 'driver') =>
    stored.some((row) => row[key] !== null && row[key] !== '')
  return (
    <SheetTable
      frame="foreign-frame"
      caption="As they would be stored"
      rows={stored}
      keyOf={({ line, part }) => `${line} ${part}`}
      columns={[
        ['Line', ({ line }) => count(line), 'figure'],
        isTickets ? ['Ticket', ({ ticket }) => ticket] : ['Reading', ({ reading }) => reading],
        isTickets && ['Scale', ({ scale }) => scale],
        ['Time', ({ at }) => at !== '' && times.moment(at), 'nowrap'],
        ['Unit', ({ unit }) => unit],
        ['Group', ({ group }) => group],
        !isTickets && ['Circuit', ({ circuit }) => circuit],
        isTickets
          ? ['Weight', ({ weightLb }) => weightLb !== null && weight.text(weightLb), 'figure']
          : ['Pressure', ({ psi }) => psi !== null && pressure.text(psi), 'figure'],
        isTickets && has('grossLb') && ['Gross', ({ grossLb }) => grossLb !== null && weight.text(grossLb), 'figure'],
        !isTickets && has('ticket') && ['Ticket', ({ ticket, scale }) => [ticket, scale].filter(Boolean).join(' of ')],
        !isTickets &&
          has('elevationFt') && [
            'Elevation',
            ({ elevationFt }) => elevationFt !== null && elevation.text(elevationFt),
            'figure',
          ],
        !isTickets &&
          has('temperatureF') && [
            'Temperature',
            ({ temperatureF }) => temperatureF !== null && temperature.text(temperatureF),
            'figure',
          ],
        !isTickets && has('lift') && ['Lift axles', ({ lift }) => lift],
        has('driver') && ['Driver', ({ driver }) => driver],
      ]}
    />
  )
}
