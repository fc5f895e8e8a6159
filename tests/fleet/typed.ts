import type { LiftState } from '#core/words/vocabulary.ts'

const dayMs = 86_400_000

/** Values by the place that people call it, `T-101 drive` or `T-101 drive main`. */
type ByPlace = Readonly<Record<string, number>>

const partsOf = (place: string): [unit: string, group: string, circuit: string] => {
  const [unit = '', group = '', circuit = ''] = place.split(' ')
  return [unit, group, circuit]
}

interface ReadingTerms {
  readonly elevationFt?: number | null
  readonly lift?: LiftState | null
}

/** A reading as the windows send it, pressures in psi by circuit: `typedReading({ 'T-101 drive main': 58 })`. */
export const typedReading = (psiOf: ByPlace, { elevationFt = null, lift = null }: ReadingTerms = {}) => ({
  elevationFt,
  temperatureF: null,
  lift,
  pressures: Object.entries(psiOf).map(([place, psi]) => {
    const [unit, group, circuit] = partsOf(place)
    return { unit, group, circuit, psi }
  }),
})

interface TicketTerms {
  readonly ticket: string
  readonly weighedAt: string
  readonly grossLb?: number | null
}

/** A ticket of a visit as the Weigh-in sends it, weights in lb by group, with the reading at the scale. */
export const typedTicket = (
  { ticket, weighedAt, grossLb = null }: TicketTerms,
  weightOf: ByPlace,
  reading: ReturnType<typeof typedReading>,
) => ({
  ticket,
  weighedAt,
  grossLb,
  weights: Object.entries(weightOf).map(([place, weightLb]) => {
    const [unit, group] = partsOf(place)
    return { unit, group, weightLb }
  }),
  reading,
})

/** A reading that Weigh now saves, of the units that it has pressures of unless others are named. */
export const weighNow = (takenAt: string, psiOf: ByPlace, terms: ReadingTerms = {}, by = 'M. Tarn') => ({
  units: [...new Set(Object.keys(psiOf).map((place) => partsOf(place)[0]))],
  takenAt,
  localZone: null,
  note: null,
  by,
  ...typedReading(psiOf, terms),
})

/** A time so many hours after one three days ago, as a visit of this week has it. */
export const hourOfVisit = (now: number, hour: number): string =>
  new Date(now - 3 * dayMs + hour * 3_600_000).toISOString()

/** A new scale that prints to 20 lb, as the windows send it. */
export const typedScale = (name: string, by: string) => ({
  subject: 'scale' as const,
  id: null,
  was: {},
  values: { name, division_lb: 20 },
  reason: null,
  localZone: null,
  workedAt: null,
  by,
})
