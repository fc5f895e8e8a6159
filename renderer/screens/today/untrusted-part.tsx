import type { TodayPage, UntrustedView } from '#core/contracts/today.ts'
import type { FindingCode } from '#core/findings/finding.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/links.tsx'
import { SeverityMark, TrustMark } from '#renderer/parts/marks.tsx'
import { findingTitle } from '#core/findings/finding-title.ts'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

const keyOf = ({ unit, groups, scale, ticket, code, message }: UntrustedView): string =>
  [unit, groups.join(' '), scale, ticket, code, message].join('|')

/** What a finding is of, as a way to where it can be seen to. */
function Subject({ row: { unit, groups, scale, ticket, ticketId } }: { row: UntrustedView }) {
  if (unit !== null)
    return (
      <>
        <a href={hrefOf('unit', unit, { group: groups[0] })}>{unit}</a> {groups.join(', ')}
      </>
    )
  if (ticket !== null)
    return (
      <>
        {phrase('Ticket')} <TicketLink id={ticketId} number={ticket} scale={scale} />
      </>
    )
  return <a href={hrefOf('scale-house', 'scales')}>{phrase('Scale {scale}', { scale })}</a>
}

function Row({ row }: { row: UntrustedView }) {
  const { times } = useMeasures()
  const { trust, severity, code, yard, since, message, nextStep } = row
  return (
    <li className="today-finding">
      <div className="today-state">
        {trust === null ? <SeverityMark severity={severity} /> : <TrustMark trust={trust} />}
      </div>
      <div>
        <h3>
          <Subject row={row} />
          <span className="quiet">
            {' '}
            {findingTitle(code).toLowerCase()}
            {yard !== null && `, ${yard}`}
            {since !== null && phrase(', since {since}', { since: times.day(since) })}
          </span>
        </h3>
        <p>{message}</p>
        <p className="quiet">{nextStep}</p>
      </div>
    </li>
  )
}

/** Where all that has a finding is listed. */
function listHref(code: FindingCode): string {
  if (code === 'scale-biased') return hrefOf('scale-house', 'scales')
  return code === 'ticket-sum-mismatch' ? hrefOf('scale-house', 'tickets') : hrefOf('roster', null, { finding: code })
}

/** What takes trust away in the whole fleet, the worst first, each once. */
export function UntrustedPart({ untrusted: { total, rows, byCode } }: Pick<TodayPage, 'untrusted'>) {
  return (
    <Section className="section today-untrusted" title={phrase('What cannot be trusted, and why')}>
      {total === 0 ? (
        <p className="quiet">{phrase('Nothing is found that takes trust away.')}</p>
      ) : (
        <>
          <ul className="bare flow today-codes" aria-label={phrase('By what is found')}>
            {byCode.map(({ code, findings }) => (
              <li key={code}>
                <a href={listHref(code)}>{findingTitle(code)}</a> <span className="quiet">{count(findings)}</span>
              </li>
            ))}
          </ul>
          <ol className="bare today-findings">
            {rows.map((row) => (
              <Row key={keyOf(row)} row={row} />
            ))}
          </ol>
          {total > rows.reduce((sum, { groups }) => sum + Math.max(1, groups.length), 0) && (
            <p className="quiet">
              <Phrase
                text="The worst of {total, plural, one {# finding} other {# findings}}. <link>The Roster has every unit.</link>"
                with={{ total, link: (words) => <a href={hrefOf('roster')}>{words}</a> }}
              />
            </p>
          )}
        </>
      )}
    </Section>
  )
}
