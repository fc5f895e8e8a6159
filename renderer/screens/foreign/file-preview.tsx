import type { ForeignPreview } from '#core/contracts/foreign.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { columnUses } from './mapping-draft.ts'

/** A cell of so many characters stands on one line; longer ones may break. */
const shortCell = 24

/** The first rows as the file has them: each column with what it fills, and what is wrong at its very cell. */
export function FilePreview({ preview: { mapping, columns, rows } }: { preview: ForeignPreview }) {
  const { weight } = useMeasures()
  const uses = columnUses(mapping)
  const hasRowProblems = rows.some(({ problems }) =>
    problems.some(({ column }) => column === null || !columns.includes(column)),
  )
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="foreign-frame" aria-label="The first rows of the file" tabIndex={0}>
      <table className="sheet-table">
        <caption className="unheard">The first rows of the file</caption>
        <thead>
          <tr>
            <th scope="col" className="figure">
              Line
            </th>
            {columns.map((column, at) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: a column is told by its place
              <th key={at} scope="col">
                {column ?? 'passed over'}
                <span className="foreign-use">
                  {column === null ? '' : (uses.get(column)?.join(', ') ?? 'not used')}
                </span>
              </th>
            ))}
            {hasRowProblems && <th scope="col">The whole row</th>}
          </tr>
        </thead>
        <tbody>
          {rows.map(({ line, cells, problems, light }) => (
            <tr key={line}>
              <th scope="row" className="figure">
                {count(line)}
              </th>
              {columns.map((column, at) => {
                const text = cells[at] ?? ''
                const wrong = problems.filter((problem) => problem.column !== null && problem.column === column)
                return (
                  // biome-ignore lint/suspicious/noArrayIndexKey: a cell is told by its place
                  <td key={at} data-wrong={wrong.length > 0 || undefined}>
                    <span className={text.length <= shortCell ? 'nowrap' : undefined}>{text}</span>
                    {wrong.map(({ message }) => (
                      <span key={message} className="foreign-wrong">
                        ✕ {message}
                      </span>
                    ))}
                    {light
                      .filter((each) => each.column === column)
                      .map(({ weightLb }) => (
                        <span key={weightLb} className="foreign-wrong">
                          ! {weight.text(weightLb)} is little for an axle group. Look at the decimal sign and the unit
                          of the weights.
                        </span>
                      ))}
                  </td>
                )
              })}
              {hasRowProblems && (
                <td>
                  {problems
                    .filter(({ column }) => column === null || !columns.includes(column))
                    .map(({ message }) => (
                      <span key={message} className="foreign-wrong">
                        ✕ {message}
                      </span>
                    ))}
                </td>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}

/** The same rows as they would be stored, in the measures in use. */
export function StoredPreview({ preview: { mapping, rows } }: { preview: ForeignPreview }) {
  const { weight, pressure, elevation, temperature, times } = useMeasures()
  const stored = rows.flatMap(({ line, stored: each }) => each.map((row, at) => ({ ...row, line, part: at })))
  if (stored.length === 0) return <p>None of these rows can be read yet.</p>
  const isTickets = mapping.kind === 'tickets'
  const has = (test: (row: (typeof stored)[number]) => unknown) => stored.some((row) => Boolean(test(row)))
  const more = isTickets
    ? []
    : [
        has(({ ticket }) => ticket),
        has(({ elevationFt }) => elevationFt !== null),
        has(({ temperatureF }) => temperatureF !== null),
        has(({ lift }) => lift),
      ]
  const [withTicket, withElevation, withTemperature, withLift] = more
  const withGross = isTickets && has(({ grossLb }) => grossLb !== null)
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="foreign-frame" aria-label="As they would be stored" tabIndex={0}>
      <table className="sheet-table">
        <caption className="unheard">As they would be stored</caption>
        <thead>
          <tr>
            <th scope="col" className="figure">
              Line
            </th>
            <th scope="col">{isTickets ? 'Ticket' : 'Reading'}</th>
            {isTickets && <th scope="col">Scale</th>}
            <th scope="col">Time</th>
            <th scope="col">Unit</th>
            <th scope="col">Group</th>
            {!isTickets && <th scope="col">Circuit</th>}
            <th scope="col" className="figure">
              {isTickets ? 'Weight' : 'Pressure'}
            </th>
            {withGross && (
              <th scope="col" className="figure">
                Gross
              </th>
            )}
            {withTicket && <th scope="col">Ticket</th>}
            {withElevation && (
              <th scope="col" className="figure">
                Elevation
              </th>
            )}
            {withTemperature && (
              <th scope="col" className="figure">
                Temperature
              </th>
            )}
            {withLift && <th scope="col">Lift axles</th>}
          </tr>
        </thead>
        <tbody>
          {stored.map((row) => (
            <tr key={`${row.line} ${row.part}`}>
              <th scope="row" className="figure">
                {count(row.line)}
              </th>
              <td>{isTickets ? row.ticket : row.reading}</td>
              {isTickets && <td>{row.scale}</td>}
              <td className="nowrap">{row.at === '' ? '' : times.moment(row.at)}</td>
              <td>{row.unit}</td>
              <td>{row.group}</td>
              {!isTickets && <td>{row.circuit}</td>}
              <td className="figure">
                {isTickets
                  ? row.weightLb !== null && weight.text(row.weightLb)
                  : row.psi !== null && pressure.text(row.psi)}
              </td>
              {withGross && <td className="figure">{row.grossLb !== null && weight.text(row.grossLb)}</td>}
              {withTicket && (
                <td>
                  {row.ticket}
                  {row.scale && ` of ${row.scale}`}
                </td>
              )}
              {withElevation && (
                <td className="figure">{row.elevationFt !== null && elevation.text(row.elevationFt)}</td>
              )}
              {withTemperature && (
                <td className="figure">{row.temperatureF !== null && temperature.text(row.temperatureF)}</td>
              )}
              {withLift && <td>{row.lift}</td>}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}
