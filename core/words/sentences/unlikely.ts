import { kPaPerPsi } from '#core/words/measures.ts'
import type { Say } from '#core/words/say.ts'
import { phrase } from '#core/words/phrase.ts'

/** Air systems of trucks stop building pressure well below this, psi; common practice, from memory. */
const highestUsualPsi = 150
/** The most that a pressure can be, psi as shown: what the sensor can show, or what air systems carry. */
export const mostPsi = (rangePsi: number | null): number => rangePsi ?? highestUsualPsi
/** No axle group on the road weighs less, lb; common practice. */
const lightestGroupLb = 500
/** No axle group on the road carries more, lb; common practice. */
const heaviestGroupLb = 100_000

/**
 * What makes a typed pressure unlikely: beyond what the sensor can show (rangePsi; null where it is not on record), or
 * what air systems carry. psi gauge or absolute, as typed. null where nothing is odd; an unlikely one may be saved.
 */
export function unlikelyPressure(psi: number, rangePsi: number | null, say: Say): string | null {
  const most = mostPsi(rangePsi)
  if (psi <= most) return null
  const asKPa = psi / kPaPerPsi
  const holds = rangePsi === null ? phrase('an air circuit holds') : phrase('its sensor can show')
  const beyond = phrase('{psi} is more than {holds} ({most})', {
    psi: say.pressure(psi),
    holds,
    most: say.pressure(most),
  })
  return asKPa <= most
    ? phrase('{beyond}. Is it kPa? That would be {asKPa}.', { beyond, asKPa: say.pressure(asKPa) })
    : phrase('{beyond}. Is it a slip?', { beyond })
}

/** What makes a typed weight of a group unlikely, lb. null where nothing is odd. */
export function unlikelyWeight(weightLb: number, say: Say): string | null {
  if (weightLb > 0 && weightLb < lightestGroupLb)
    return phrase('{weightLb} is less than any axle group weighs. Is a part of it missing?', {
      weightLb: say.ticket(weightLb),
    })
  if (weightLb > heaviestGroupLb)
    return phrase('{weightLb} is more than any axle group carries. Is there a digit too many?', {
      weightLb: say.ticket(weightLb),
    })
  return null
}
