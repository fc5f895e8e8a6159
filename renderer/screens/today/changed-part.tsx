import type { TodayPage } from '#core/contracts/today.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { TrustMark } from '#renderer/parts/marks.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'

/** What is other than it was: trust of groups, and what was recorded. */
export function ChangedPart({ changed: { since, trust, recorded } }: Pick<TodayPage, 'changed'>) {
  return (
    <Section className="section" title={`Changed since ${since}`}>
      {trust.total === 0 ? (
        <p className="quiet">The trust of no group is known to have changed.</p>
      ) : (
        <SheetTable
          className="today-table"
          frame="today-scroll"
          caption="Groups whose trust has changed"
          rows={trust.rows}
          keyOf={({ unit, group }) => `${unit} ${group}`}
          columns={[
            [
              'Unit',
              ({ unit, group }) => (
                <>
                  <a href={hrefOf('unit', unit, { group })}>{unit}</a> {group}
                </>
              ),
            ],
            ['Was', ({ was, on }) => <span title={`As judged for ${on}`}>{was}</span>, 'nowrap'],
            ['Is', ({ now }) => <TrustMark trust={now} />, 'nowrap'],
          ]}
        />
      )}
      {trust.total > trust.rows.length && (
        <p className="quiet">
          The first {count(trust.rows.length)} of {count(trust.total)}.
        </p>
      )}
      {recorded.total === 0 ? (
        <p className="quiet">Nothing was recorded since then.</p>
      ) : (
        <>
          <ul className="today-recorded">
            {recorded.rows.map(({ by, subject, action, changes }) => (
              <li key={`${by}|${subject}|${action}`}>
                {by}: {subject} {action}
                {changes > 1 && <span className="quiet"> {count(changes)} times</span>}
              </li>
            ))}
          </ul>
          <p>
            <a href={hrefOf('log')}>Change log</a>
          </p>
        </>
      )}
    </Section>
  )
}
