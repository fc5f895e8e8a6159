import { phrase } from '#core/words/phrase.ts'
import type { Procedure } from '#core/contracts/contract.ts'

/** What a call is about, for somebody who may work on some units only. */
export type Asked =
  | { readonly about: 'no unit' }
  /** Answered with what is left of it for the units given. */
  | { readonly about: 'all units, of which some are shown' }
  | { readonly about: 'units'; readonly units: readonly string[] }
  /** The record tells which units these are of. */
  | { readonly about: 'reading'; readonly name: string }
  | { readonly about: 'evidence'; readonly kind: 'ticket' | 'reading'; readonly id: number }
  | { readonly about: 'what no driver may ask' }

type Input = Readonly<Record<string, unknown>>

const units = ({ units }: Input): Asked =>
  Array.isArray(units) && units.every((unit) => typeof unit === 'string')
    ? { about: 'units', units }
    : { about: 'what no driver may ask' }

const ticket = ({ ticketId }: Input): Asked =>
  typeof ticketId === 'number'
    ? { about: 'evidence', kind: 'ticket', id: ticketId }
    : { about: 'what no driver may ask' }

const noUnit = (): Asked => ({ about: 'no unit' })

/** The units that each procedure of a driver is about, by its input. */
const readers: { readonly [P in Procedure]?: (input: Input) => Asked } = {
  'file.state': noUnit,
  'houseRules.list': noUnit,
  'houseRules.zone': noUnit,
  'scales.list': noUnit,
  'desk.read': noUnit,
  'desk.leave': noUnit,
  'log.last': noUnit,
  'log.undo': noUnit,
  'people.standing': noUnit,
  'people.signIn': noUnit,
  'people.invitation': noUnit,
  'people.accept': noUnit,
  'people.signOut': noUnit,
  'people.changePassword': noUnit,
  'people.passkeyChallenge': noUnit,
  'people.signInByPasskey': noUnit,
  'people.passkeys': noUnit,
  'people.passkeyToMake': noUnit,
  'people.keepPasskey': noUnit,
  'people.removePasskey': noUnit,

  'weigh.combinations': () => ({ about: 'all units, of which some are shown' }),
  'weigh.preview': (input) =>
    typeof input['reading'] === 'string' ? { about: 'reading', name: input['reading'] } : units(input),
  'weigh.save': units,
  'cabCard.make': units,
  'weighIn.prepare': units,
  'weighIn.save': units,
  'evidence.tickets': ({ unit }) =>
    typeof unit === 'string' ? { about: 'units', units: [unit] } : { about: 'what no driver may ask' },
  'evidence.sheet': ({ kind, id }) =>
    (kind === 'ticket' || kind === 'reading') && typeof id === 'number'
      ? { about: 'evidence', kind, id }
      : { about: 'what no driver may ask' },
  'attachment.list': ticket,
  'attachment.add': ticket,
  'attachment.read': ticket,
}

/** What a call of a driver is about; one that stands in no list is refused. input: as its schema gives it. */
export function unitsAsked(procedure: Procedure, input: unknown): Asked {
  const read = readers[procedure]
  if (!read) return { about: 'what no driver may ask' }
  return read(typeof input === 'object' && input !== null ? { ...input } : {})
}

/** Why units are not open to somebody, as a sentence; undefined where all of them are. */
export function unitsRefusal(given: readonly string[], asked: readonly string[]): string | undefined {
  const foreign = asked.find((unit) => !given.includes(unit))
  if (foreign === undefined) return undefined
  const own =
    given.length === 0
      ? phrase('no unit is given to you yet')
      : phrase('yours are {given}', { given: given.join(', ') })
  return phrase('{foreign} is not given to you; {own}. A manager gives units on the People page.', { foreign, own })
}
