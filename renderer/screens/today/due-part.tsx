import type { ReactNode } from 'react'
import type { TodayPage } from '#core/contracts/today.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { Section } from '#renderer/parts/section.tsx'
import { type Columns, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

type Due = TodayPage['due']

interface OfUnit {
  readonly unit: string
  readonly yard: string | null
}

const UnitCell = ({ unit, yard }: OfUnit) => (
  <>
    <a href={hrefOf('unit', unit)}>{unit}</a>
    {yard !== null && <span className="quiet"> {yard}</span>}
  </>
)

interface ListProps<Row> {
  readonly title: string
  readonly none: string
  readonly list: { readonly total: number; readonly rows: readonly Row[] }
  readonly keyOf: (row: Row) => string
  readonly columns: Columns<Row>
  /** Where all of it stands. */
  readonly all: ReactNode
}

function List<Row>({ title, none, list: { total, rows }, keyOf, columns, all }: ListProps<Row>) {
  return (
    <div>
      <h3>
        {title} <span className="quiet">{count(total)}</span>
      </h3>
      {total === 0 ? (
        <p className="quiet">{none}</p>
      ) : (
        <SheetTable
          className="today-table"
          frame="today-scroll"
          caption={title}
          rows={rows}
          keyOf={keyOf}
          columns={columns}
        />
      )}
      {total > rows.length && (
        <p className="quiet">
          <Phrase text="The first {rows}. {all}" with={{ rows: count(rows.length), all }} />
        </p>
      )}
    </div>
  )
}

/** What comes due soon: lines, cells, visits. */
export function DuePart({ due: { until, lines, cells, visits }, asOf }: { due: Due; asOf: string }) {
  const { times } = useMeasures()
  const day = (on: string) => (
    <>
      {on} <span className="quiet">{times.away(on, asOf)}</span>
    </>
  )
  return (
    <Section className="section" title={phrase('Due until {until}', { until })}>
      <List
        title={phrase('Lines')}
        none={phrase('No trusted line runs out.')}
        list={lines}
        keyOf={({ unit, group }) => `${unit} ${group}`}
        all={<a href={hrefOf('roster', null, { sort: 'due' })}>{phrase('The Roster has all.')}</a>}
        columns={[
          [phrase('Due'), ({ dueOn }) => day(dueOn), 'nowrap'],
          [phrase('Unit'), UnitCell],
          [phrase('Group'), ({ group }) => group],
        ]}
      />
      <List
        title={phrase('Cells')}
        none={phrase('Every cell lasts until its unit’s next visit.')}
        list={cells}
        keyOf={({ serial }) => serial}
        all={<a href={hrefOf('shop')}>{phrase('The Shop Bench has all.')}</a>}
        columns={[
          [
            phrase('Swap by'),
            ({ swapBy, now, overdue }) => (overdue ? phrase('now, past its life') : now ? phrase('now') : day(swapBy)),
            'nowrap',
            phrase('Cells that would not last until their unit’s next visit, or are past their life'),
          ],
          [phrase('Unit'), UnitCell],
          [phrase('Place'), ({ group, circuit }) => [group, circuit].filter(Boolean).join(' ')],
          [phrase('Sensor'), ({ serial }) => serial],
        ]}
      />
      <List
        title={phrase('Planned visits')}
        none={phrase('No visit is planned.')}
        list={visits}
        keyOf={({ unit, on }) => `${unit} ${on}`}
        all={<a href={hrefOf('shop', null, { part: 'visits' })}>{phrase('The Shop Bench has all.')}</a>}
        columns={[
          [phrase('Day'), ({ on }) => day(on), 'nowrap'],
          [phrase('Unit'), UnitCell],
        ]}
      />
    </Section>
  )
}
