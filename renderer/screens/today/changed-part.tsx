import type { TodayPage } from '#core/contracts/today.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { TrustMark } from '#renderer/parts/marks.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { word, wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

/** What is other than it was: trust of groups, and what was recorded. */
export function ChangedPart({ changed: { since, trust, recorded } }: Pick<TodayPage, 'changed'>) {
  return (
    <Section className="section" title={phrase('Changed since {since}', { since })}>
      {trust.total === 0 ? (
        <p className="quiet">{phrase('The trust of no group is known to have changed.')}</p>
      ) : (
        <SheetTable
          className="today-table"
          frame="today-scroll"
          caption={phrase('Groups whose trust has changed')}
          rows={trust.rows}
          keyOf={({ unit, group }) => `${unit} ${group}`}
          columns={[
            [
              phrase('Unit'),
              ({ unit, group }) => (
                <>
                  <a href={hrefOf('unit', unit, { group })}>{unit}</a> {group}
                </>
              ),
            ],
            [
              phrase('Was'),
              ({ was, on }) => <span title={phrase('As judged for {on}', { on })}>{word(was)}</span>,
              'nowrap',
            ],
            [phrase('Is'), ({ now }) => <TrustMark trust={now} />, 'nowrap'],
          ]}
        />
      )}
      {trust.total > trust.rows.length && (
        <p className="quiet">
          {phrase('The first {rows} of {total}.', { rows: count(trust.rows.length), total: count(trust.total) })}
        </p>
      )}
      {recorded.total === 0 ? (
        <p className="quiet">{phrase('Nothing was recorded since then.')}</p>
      ) : (
        <>
          <ul className="today-recorded">
            {recorded.rows.map(({ by, subject, action, changes }) => (
              <li key={`${by}|${subject}|${action}`}>
                {by}: {wordOf(subject)} {wordOf(action)}
                {changes > 1 && (
                  <span className="quiet"> {phrase('{changes} times', { changes: count(changes) })}</span>
                )}
              </li>
            ))}
          </ul>
          <p>
            <a href={hrefOf('log')}>{phrase('Change log')}</a>
          </p>
        </>
      )}
    </Section>
  )
}
