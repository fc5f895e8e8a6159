import { dayOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/** How sentences write quantities: number, then unit, with no more digits than the figure bears. */
const whole = new Intl.NumberFormat('en-US', { maximumFractionDigits: 0, signDisplay: 'negative' })
const tenth = new Intl.NumberFormat('en-US', {
  minimumFractionDigits: 1,
  maximumFractionDigits: 1,
  signDisplay: 'negative',
})
const hundredth = new Intl.NumberFormat('en-US', {
  minimumFractionDigits: 2,
  maximumFractionDigits: 2,
  signDisplay: 'negative',
})

/** A weight to the nearest 10 lb: no onboard weight is known closer. */
export const lb = (value: number): string => `${whole.format(Math.round(value / 10) * 10)} lb`

/** A printed weight, as it stands on the ticket. */
export const ticketLb = (value: number): string => `${whole.format(value)} lb`

export const psi = (value: number): string => `${tenth.format(value)} psi`
export const percent = (value: number): string => `${whole.format(value)} %`
export const finePercent = (value: number): string => `${hundredth.format(value)} %`
export const times = (value: number): string => `${hundredth.format(value)} times`
/** The day of an instant (ms UTC) in the fleet's zone. */
export const day = (ms: number, { zone }: HouseRules): string => dayOf(ms, zone)
export const count = (value: number, one: string, many = `${one}s`): string =>
  `${whole.format(value)} ${value === 1 ? one : many}`
