import { useQuery } from '@tanstack/react-query'
import { useEffect, useSyncExternalStore } from 'react'
import { phrase } from '#core/words/phrase.ts'
import { api } from '#renderer/client/api.ts'
import { useReadyForTheRoad } from '#renderer/app/ready-for-the-road.ts'
import { houseAway, onReturn } from '#renderer/client/house-away.ts'
import { keepSending, outbox } from '#renderer/client/outbox.ts'
import { queryClient } from '#renderer/client/query-client.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { useStanding } from '#renderer/parts/rights.ts'
import { timesIn } from '#renderer/parts/times.ts'

/**
 * At a desk of a house: says that the house gives no answer and since when, and what was saved here and is not in the
 * record yet. Sends that as soon as it can be.
 */
export function AwayStrip() {
  const standing = useStanding()
  const person = standing.at === 'desk' ? (standing.person?.name ?? null) : null
  const since = useSyncExternalStore(houseAway.subscribe, houseAway.since)
  const waiting = useSyncExternalStore(outbox.subscribe, outbox.now).filter((save) => save.person === person)
  // The frame stands around what has the fleet's clocks.
  const zone = useQuery(api.houseRules.zone.queryOptions())
  useReadyForTheRoad(standing.at === 'desk' && standing.person?.role === 'driver')
  useEffect(() => (person === null ? undefined : keepSending(person)), [person])
  // What was kept for the time without the house is asked anew.
  useEffect(() => onReturn(() => void queryClient.invalidateQueries()), [])
  if (person === null || (since === null && waiting.length === 0)) return null
  const refused = waiting.filter((save) => save.refused !== null).length
  return (
    <aside
      className="away"
      aria-label={phrase('The house and what is not yet sent')}
      data-away={since !== null || undefined}
    >
      {since !== null && (
        <span>
          <Phrase
            text="<strong>The house does not answer</strong> since {time}. What you see is from before; what you save is kept here."
            with={{
              strong: (words) => <strong>{words}</strong>,
              time: zone.data ? timesIn(zone.data.zone).moment(new Date(since).toISOString()) : phrase('just now'),
            }}
          />
        </span>
      )}
      {waiting.length > 0 && (
        <a className="away-unsent" href={hrefOf('unsent')}>
          {phrase('{number, plural, one {# weighing not yet sent} other {# weighings not yet sent}}', {
            number: waiting.length,
          })}
          {refused > 0 && phrase(', {refused, number} to fix', { refused })}
        </a>
      )}
    </aside>
  )
}
