import type { MondayPage, MondayRow } from '#core/contracts/heavy.ts'
import { count } from '#renderer/parts/format.ts'
import { Section } from '#renderer/parts/section.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
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
          label={`Rates ${title.toLowerCase()}`}
          rows={rows}
          keyOf={({ name: called }) => called ?? ''}
          columns={[
            ['Name', name],
            ['Weighings', ({ weighings }) => count(weighings), 'figure'],
            ['Over', ({ over }) => count(over), 'figure'],
            ['Rate, 95 %', (row) => <Rate of={row} />, 'figure'],
            [
              'Against the fleet',
              ({ standing, restsOn }) => (
                <>
                  {standing === 'worse than the fleet' ? (
                    <strong className="monday-worse">{standing}</strong>
                  ) : (
                    <span className="quiet">{standing}</span>
                  )}
                  {restsOn.map((ground) => (
                    <div key={ground} className="quiet">
                      {ground}
                    </div>
                  ))}
                </>
              ),
            ],
            [`Month before, ${page.before}`, ({ before }) => <Earlier of={before} />, 'figure'],
            [`Year before, ${page.yearBefore}`, ({ yearBefore }) => <Earlier of={yearBefore} />, 'figure'],
          ]}
        />
      )}
      {total > rows.length && (
        <p className="quiet">
          The first {count(rows.length)} of {count(total)}.
        </p>
      )}
    </Section>
  )
}
