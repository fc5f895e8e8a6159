import type { ForeignPreview } from '#core/contracts/foreign.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
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
      caption={phrase('The first rows of the file')}
      rows={rows}
      keyOf={({ line }) => line}
      columns={[
        [phrase('Line of the file'), ({ line }) => count(line), 'figure'],
        ...columns.map(
          (column, at) =>
            [
              <span key={column}>
                {column ?? phrase('passed over')}
                <span className="foreign-use">
                  {column === null ? '' : (uses.get(column)?.join(', ') ?? phrase('not used'))}
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
                          {phrase(
                            '! {weightLb} is little for an axle group. Look at the decimal sign and the unit of the weights.',
                            { weightLb: weight.text(weightLb) },
                          )}
                        </span>
                      ))}
                  </div>
                )
              },
            ] as const,
        ),
        rows.some(({ problems }) => problems.some(isOfRow)) && [
          phrase('The whole row'),
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
  if (stored.length === 0) return <p>{phrase('None of these rows can be read yet.')}</p>
  const isTickets = mapping.kind === 'tickets'
  const has = (key: 'grossLb' | 'ticket' | 'elevationFt' | 'temperatureF' | 'lift' | 'driver' | 'lane') =>
    stored.some((row) => row[key] !== null && row[key] !== '')
  return (
    <SheetTable
      frame="foreign-frame"
      caption={phrase('As they would be stored')}
      rows={stored}
      keyOf={({ line, part }) => `${line} ${part}`}
      columns={[
        [phrase('Line of the file'), ({ line }) => count(line), 'figure'],
        isTickets ? [phrase('Ticket'), ({ ticket }) => ticket] : [phrase('Reading'), ({ reading }) => reading],
        isTickets && [phrase('Scale'), ({ scale }) => scale],
        [phrase('Time'), ({ at }) => at !== '' && times.moment(at), 'nowrap'],
        [phrase('Unit'), ({ unit }) => unit],
        [phrase('Group'), ({ group }) => group],
        !isTickets && [phrase('Circuit'), ({ circuit }) => circuit],
        isTickets
          ? [phrase('Weight'), ({ weightLb }) => weightLb !== null && weight.text(weightLb), 'figure']
          : [phrase('Pressure'), ({ psi }) => psi !== null && pressure.text(psi), 'figure'],
        isTickets &&
          has('grossLb') && [phrase('Gross'), ({ grossLb }) => grossLb !== null && weight.text(grossLb), 'figure'],
        !isTickets &&
          has('ticket') && [
            phrase('Ticket'),
            ({ ticket, scale }) => [ticket, scale].filter(Boolean).join(phrase(' of ')),
          ],
        !isTickets &&
          has('elevationFt') && [
            phrase('Elevation'),
            ({ elevationFt }) => elevationFt !== null && elevation.text(elevationFt),
            'figure',
          ],
        !isTickets &&
          has('temperatureF') && [
            phrase('Temperature'),
            ({ temperatureF }) => temperatureF !== null && temperature.text(temperatureF),
            'figure',
          ],
        !isTickets && has('lift') && [phrase('Lift axles'), ({ lift }) => wordOf(lift)],
        has('driver') && [phrase('Driver'), ({ driver }) => driver],
        has('lane') && [phrase('Loading lane'), ({ lane }) => lane],
      ]}
    />
  )
}
