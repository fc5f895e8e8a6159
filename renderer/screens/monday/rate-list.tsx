import type { MondayPage, MondayRow } from '#core/contracts/heavy.ts'
import { count } from '#renderer/parts/format.ts'
import { Section } from '#renderer/parts/section.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Earlier, Rate } from './rate.tsx'

interface RateListProps {
  readonly title: string
  readonly none: string
  /** What stands in the place of a name that is not there. */
  readonly unnamed: string
  readonly list: { readonly total: number; readonly rows: readonly MondayRow[] }
  readonly page: Pick<MondayPage, 'before' | 'yearBefore'>
  readonly hrefOf?: (name: string) => string
}

/** Rates of one kind of thing, the highest first; what is worse than the fleet for sure is set in bold. */
export function RateList({ title, none, unnamed, list: { total, rows }, page, hrefOf }: RateListProps) {
  const name = ({ name: called, yard }: MondayRow) => (
    <>
      {called === null ? (
        <span className="quiet">{unnamed}</span>
      ) : hrefOf ? (
        <a href={hrefOf(called)}>{called}</a>
      ) : (
        called
      )}
      {yard !== null && <span className="quiet"> {yard}</span>}
    </>
  )
  return (
    <Section className="section" title={title}>
      {total === 0 ? (
        <p className="quiet">{none}</p>
      ) : (
        <SheetTable
          className="monday-table"
          frame="wide"
          caption={title}
          label={phrase('Rates {title}', { title: title.toLowerCase() })}
          rows={rows}
          keyOf={({ name: called }) => called ?? ''}
          columns={[
            [phrase('Name'), name],
            [phrase('Weighings'), ({ weighings }) => count(weighings), 'figure'],
            [phrase('Over'), ({ over }) => count(over), 'figure'],
            [phrase('Rate, 95 %'), (row) => <Rate of={row} />, 'figure'],
            [
              phrase('Against the fleet'),
              ({ standing, restsOn }) => (
                <>
                  {standing === 'worse than the fleet' ? (
                    <strong className="monday-worse">{word(standing)}</strong>
                  ) : (
                    <span className="quiet">{word(standing)}</span>
                  )}
                  {restsOn.map((ground) => (
                    <div key={ground} className="quiet">
                      {ground}
                    </div>
                  ))}
                </>
              ),
            ],
            [
              phrase('Month before, {before}', { before: page.before }),
              ({ before }) => <Earlier of={before} />,
              'figure',
            ],
            [
              phrase('Year before, {yearBefore}', { yearBefore: page.yearBefore }),
              ({ yearBefore }) => <Earlier of={yearBefore} />,
              'figure',
            ],
          ]}
        />
      )}
      {total > rows.length && (
        <p className="quiet">
          {phrase('The first {rows} of {total}.', { rows: count(rows.length), total: count(total) })}
        </p>
      )}
    </Section>
  )
}
