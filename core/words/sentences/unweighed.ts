import type { Say } from '#core/words/say.ts'
import { type Entry, type Facts, type FactsOf, workDone } from '#core/words/sentences/sentence.ts'

const entry = <F extends Facts = Facts>(write: Entry<F, string>): Entry<F, string> => write

/** How the lift axle stood when a line was calibrated, and how to read pressures for it. */
const liftCalibrated = (lift: string): readonly [taken: string, instead: string] => {
  switch (lift) {
    // How it is done in practice: the air does not tell what a lowered axle takes over.
    case 'raised':
      return ['with the lift axle raised', ' Read the pressures with it raised, then lower it.']
    case 'lowered':
      return ['with the lift axle lowered', ' Read the pressures with it lowered.']
    default:
      return [`with the lift axle ${lift}`, '']
  }
}

/** Every reason why a group has no weight, in US English. name: of the unit and the group. */
export const unweighedSentences = {
  'no circuit': entry<{ name: string }>(
    ({ name }) => `${name} was not weighed: it has no circuit of its own; only a scale ticket gives its weight.`,
  ),
  'not on ticket': entry<{ name: string }>(
    ({ name }) => `${name} was not weighed: the ticket does not carry its weight.`,
  ),
  'together on ticket': entry<{ name: string }>(
    ({ name }) =>
      `${name} was not weighed alone: it stood on one platform with another group, and the ticket has one weight for both.`,
  ),
  'line ended': entry<{ name: string; at: number; kind: string; serial: string | null; calibratedAt: number }>(
    ({ name, at, kind, serial, calibratedAt }, say) =>
      `${name} was not weighed: on ${say.day(at)} ${workDone(kind, serial)}, ` +
      `after its calibration of ${say.day(calibratedAt)}.`,
  ),
  'line broken': entry<{ name: string; calibratedAt: number }>(
    ({ name, calibratedAt }, say) =>
      `${name} was not weighed: it was broken, after its calibration of ${say.day(calibratedAt)}.`,
  ),
  'mixed lift states': entry<{ name: string }>(
    ({ name }) =>
      `${name} was not weighed: its line was calibrated with the lift axle sometimes raised and sometimes lowered, ` +
      'so it holds in neither state.',
  ),
  'other lift state': entry<{ name: string; calibrated: string; read: string | null }>(({ name, calibrated, read }) => {
    const [taken, instead] = liftCalibrated(calibrated)
    return `${name} was not weighed: its line was calibrated ${taken}, the reading was taken with it ${read}.${instead}`
  }),
  'before its first line': entry<{ name: string; firstAt: number }>(
    ({ name, firstAt }, say) =>
      `${name} was not weighed: its first calibration is of ${say.day(firstAt)}, after this reading.`,
  ),
  'no line': entry<{ name: string }>(({ name }) => `${name} was not weighed: no calibration of it makes a line.`),
  'circuit not read': entry<{ name: string; circuit: string }>(
    ({ name, circuit }) =>
      `${name} was not weighed: circuit ${circuit}, which its line was calibrated with, was not read.`,
  ),
  'no pressure': entry<{ name: string }>(({ name }) => `${name} was not weighed: the reading has no pressure of it.`),
  'no elevation': entry<{ name: string; serial: string | null }>(
    ({ name, serial }) =>
      `${name} was not weighed: sensor ${serial} reads absolute pressure and the elevation of the reading is not ` +
      'recorded.',
  ),
  'below nothing': entry<{ name: string; psi: number }>(
    ({ name, psi }, say) =>
      `${name} was not weighed: ${say.pressure(psi)} is below the pressure at which its line reads nothing; ` +
      'the suspension was not up on its air.',
  ),
  'no drive group': entry<{ name: string }>(
    ({ name }) => `${name} was not weighed: its estimate needs one drive group with a circuit.`,
  ),
  'drive unweighed': entry<{ name: string }>(
    ({ name }) => `${name} was not weighed: the drive group, which its estimate follows, was not weighed.`,
  ),
  /** why: a sentence without quantities. */
  'no estimate': entry<{ name: string; why: string }>(({ name, why }) => `${name} was not weighed: ${why}`),
  'estimated, no gauge': entry<{ name: string }>(
    ({ name }) => `${name} has no gauge: it is estimated from the drive group.`,
  ),
  'no gauge': entry<{ name: string }>(({ name }) => `${name} has no gauge: only a scale gives its weight.`),
  'no line holds': entry(() => 'No line of it holds.'),
  'line falls': entry(() => 'Its line does not rise with the pressure.'),
}

export type UnweighedSentences = typeof unweighedSentences
type Variant = keyof UnweighedSentences

/** Why there is no weight, as data: one of the sentences above with what it speaks of. */
export type WhyUnweighed = {
  readonly [V in Variant]: readonly [variant: V, facts: FactsOf<UnweighedSentences[V]>]
}[Variant]

/** Why a group has no weight, in the measures in use. */
export const sayUnweighed = ([variant, facts]: WhyUnweighed, say: Say): string =>
  (unweighedSentences[variant] as Entry<WhyUnweighed[1], string>)(facts, say)
