import type { TodayPage } from '#core/contracts/today.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'

/** The weighings that teach most. */
export function WeighPart({ trips }: { trips: TodayPage['weigh'] }) {
  const [first] = trips
  const [lesson] = first?.groups ?? []
  useHelpExample(
    first && lesson
      ? phrase('{unit}, {group} {how}: {taught}.', {
          unit: first.unit,
          group: lesson.group,
          how: lesson.how,
          taught: lesson.taught,
        })
      : null,
  )
  return (
    <Section className="section" title={phrase('Weigh next')}>
      {trips.length === 0 ? (
        <p className="quiet">{phrase('No single weighing is worth its trip now.')}</p>
      ) : (
        <ol className="today-trips">
          {trips.map(({ unit, yard, scale, groups }) => (
            <li key={unit}>
              <a href={hrefOf('unit', unit)}>{unit}</a>
              {yard !== null && <span className="quiet"> {yard}</span>}{' '}
              {phrase('on {scale}: {groups}', {
                scale,
                groups: groups.map(({ group, how }) => `${group} ${how}`).join(', '),
              })}
              <p className="quiet">{groups[0]?.why}</p>
            </li>
          ))}
        </ol>
      )}
      <p>
        <a href={hrefOf('shop', null, { part: 'weigh' })}>{phrase('Every trip, and what it teaches')}</a>
      </p>
    </Section>
  )
}
