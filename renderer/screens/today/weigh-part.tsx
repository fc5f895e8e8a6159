import type { TodayPage } from '#core/contracts/today.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Section } from '#renderer/parts/section.tsx'

/** The weighings that teach most. */
export function WeighPart({ trips }: { trips: TodayPage['weigh'] }) {
  return (
    <Section className="section" title="Weigh next">
      {trips.length === 0 ? (
        <p className="quiet">No single weighing is worth its trip now.</p>
      ) : (
        <ol className="today-trips">
          {trips.map(({ unit, yard, scale, groups }) => (
            <li key={unit}>
              <a href={hrefOf('unit', unit)}>{unit}</a>
              {yard !== null && <span className="quiet"> {yard}</span>} on {scale}:{' '}
              {groups.map(({ group, how }) => `${group} ${how}`).join(', ')}
              <p className="quiet">{groups[0]?.why}</p>
            </li>
          ))}
        </ol>
      )}
      <p>
        <a href={hrefOf('shop', null, { part: 'weigh' })}>Every trip, and what it teaches</a>
      </p>
    </Section>
  )
}
