import type { Say } from '#core/words/say.ts'
import { type Entry, type Facts, type FactsOf, workDone } from '#core/words/sentences/sentence.ts'
import { phrase } from '#core/words/phrase.ts'

const entry = <F extends Facts = Facts>(write: Entry<F, string>): Entry<F, string> => write

/** How the lift axle stood when a line was calibrated, and how to read pressures for it. */
const liftCalibrated = (lift: string): readonly [taken: string, instead: string] => {
  switch (lift) {
    // How it is done in practice: the air does not tell what a lowered axle takes over.
    case 'raised':
      return [phrase('with the lift axle raised'), phrase(' Read the pressures with it raised, then lower it.')]
    case 'lowered':
      return [phrase('with the lift axle lowered'), phrase(' Read the pressures with it lowered.')]
    default:
      return [phrase('with the lift axle {lift}', { lift }), '']
  }
}

/** Every reason why a group has no weight, in US English. name: of the unit and the group. */
export const unweighedSentences = {
  'no circuit': entry<{ name: string }>(({ name }) =>
    phrase('{name} was not weighed: it has no circuit of its own; only a scale ticket gives its weight.', { name }),
  ),
  'not on ticket': entry<{ name: string }>(({ name }) =>
    phrase('{name} was not weighed: the ticket does not carry its weight.', { name }),
  ),
  'together on ticket': entry<{ name: string }>(({ name }) =>
    phrase(
      '{name} was not weighed alone: it stood on one platform with another group, and the ticket has one weight for both.',
      { name },
    ),
  ),
  'line ended': entry<{ name: string; at: number; kind: string; serial: string | null; calibratedAt: number }>(
    ({ name, at, kind, serial, calibratedAt }, say) =>
      phrase('{name} was not weighed: on {at} {kind}, after its calibration of {calibratedAt}.', {
        name,
        at: say.day(at),
        kind: workDone(kind, serial),
        calibratedAt: say.day(calibratedAt),
      }),
  ),
  'line broken': entry<{ name: string; calibratedAt: number }>(({ name, calibratedAt }, say) =>
    phrase('{name} was not weighed: it was broken, after its calibration of {calibratedAt}.', {
      name,
      calibratedAt: say.day(calibratedAt),
    }),
  ),
  'mixed lift states': entry<{ name: string }>(({ name }) =>
    phrase(
      '{name} was not weighed: its line was calibrated with the lift axle sometimes raised and sometimes lowered, so it holds in neither state.',
      { name },
    ),
  ),
  'other lift state': entry<{ name: string; calibrated: string; read: string | null }>(({ name, calibrated, read }) => {
    const [taken, instead] = liftCalibrated(calibrated)
    return phrase(
      '{name} was not weighed: its line was calibrated {taken}, the reading was taken with it {read}.{instead}',
      { name, taken, read, instead },
    )
  }),
  'before its first line': entry<{ name: string; firstAt: number }>(({ name, firstAt }, say) =>
    phrase('{name} was not weighed: its first calibration is of {firstAt}, after this reading.', {
      name,
      firstAt: say.day(firstAt),
    }),
  ),
  'no line': entry<{ name: string }>(({ name }) =>
    phrase('{name} was not weighed: no calibration of it makes a line.', { name }),
  ),
  'circuit not read': entry<{ name: string; circuit: string }>(({ name, circuit }) =>
    phrase('{name} was not weighed: circuit {circuit}, which its line was calibrated with, was not read.', {
      name,
      circuit,
    }),
  ),
  'no pressure': entry<{ name: string }>(({ name }) =>
    phrase('{name} was not weighed: the reading has no pressure of it.', { name }),
  ),
  'no elevation': entry<{ name: string; serial: string | null }>(({ name, serial }) =>
    phrase(
      '{name} was not weighed: sensor {serial} reads absolute pressure and the elevation of the reading is not recorded.',
      { name, serial },
    ),
  ),
  'below nothing': entry<{ name: string; psi: number }>(({ name, psi }, say) =>
    phrase(
      '{name} was not weighed: {psi} is below the pressure at which its line reads nothing; the suspension was not up on its air.',
      { name, psi: say.pressure(psi) },
    ),
  ),
  'no drive group': entry<{ name: string }>(({ name }) =>
    phrase('{name} was not weighed: its estimate needs one drive group with a circuit.', { name }),
  ),
  'drive unweighed': entry<{ name: string }>(({ name }) =>
    phrase('{name} was not weighed: the drive group, which its estimate follows, was not weighed.', { name }),
  ),
  /** why: a sentence without quantities. */
  'no estimate': entry<{ name: string; why: string }>(({ name, why }) =>
    phrase('{name} was not weighed: {why}', { name, why }),
  ),
  'estimated, no gauge': entry<{ name: string }>(({ name }) =>
    phrase('{name} has no gauge: it is estimated from the drive group.', { name }),
  ),
  'no gauge': entry<{ name: string }>(({ name }) =>
    phrase('{name} has no gauge: only a scale gives its weight.', { name }),
  ),
  'no line holds': entry(() => phrase('No line of it holds.')),
  'line falls': entry(() => phrase('Its line does not rise with the pressure.')),
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
