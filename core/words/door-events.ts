import { aRole, isRole } from '#core/words/roles.ts'
import { phrase } from '#core/words/phrase.ts'

/** What happens at the door of a house, as its log takes it down. */
export const doorEventKinds = [
  'signed-in',
  'wrong-password',
  'made-to-wait',
  'signed-out',
  'sessions-ended',
  'invited',
  'link-renewed',
  'link-used',
  'link-refused',
  'role-changed',
  'units-changed',
  'password-changed',
  'passkey-added',
  'passkey-removed',
  'passkey-refused',
  'ended',
  'call-refused',
  'session-refused',
] as const
export type DoorEventKind = (typeof doorEventKinds)[number]

export interface DoorEvent {
  readonly kind: DoorEventKind
  /** Whom it is about, as the person is named or typed the name; null: nobody in particular. */
  readonly name: string | null
  /** Who did it, where that is somebody else; null: the house machine, or the person. */
  readonly by: string | null
  /** Of the machine that it came from; '' : the house machine itself. */
  readonly address: string
  /** What else there is to say: a role, units, a procedure. */
  readonly detail: string | null
}

const asRole = (detail: string | null): string =>
  detail !== null && isRole(detail) ? aRole(detail) : phrase('somebody')

/** What happened, as a sentence for a manager. */
export function sayDoorEvent({ kind, name, by, detail }: DoorEvent): string {
  const who = name ?? phrase('Somebody')
  const hand = by ?? phrase('The house machine')
  switch (kind) {
    case 'signed-in':
      return detail === 'passkey'
        ? phrase('{who} signed in with a passkey.', { who })
        : phrase('{who} signed in.', { who })
    case 'wrong-password':
      return phrase('A wrong name or password was given for {who}.', { who })
    case 'made-to-wait':
      return phrase('{who} was not let in: too many tries.', { who })
    case 'signed-out':
      return phrase('{who} signed out.', { who })
    case 'sessions-ended':
      return phrase('{hand} ended {count, plural, one {a session} other {# sessions}} of {who}.', {
        hand,
        count: Number.parseInt(detail ?? '', 10) || 1,
        who,
      })
    case 'invited':
      return phrase('{hand} invited {who} as {detail}.', { hand, who, detail: asRole(detail) })
    case 'link-renewed':
      return phrase('{hand} made a new link for {who}.', { hand, who })
    case 'link-used':
      return phrase('{who} chose a password by a one-time link.', { who })
    case 'link-refused':
      return phrase('A one-time link was refused: used, too old or unknown.')
    case 'role-changed':
      return phrase('{hand} made {who} {detail}.', { hand, who, detail: asRole(detail) })
    case 'units-changed':
      return phrase('{hand} gave {who} {detail}.', {
        hand,
        who,
        detail: detail === '' || detail === null ? phrase('no units') : phrase('the units {detail}', { detail }),
      })
    case 'password-changed':
      return phrase('{who} changed the password.', { who })
    case 'passkey-added':
      return phrase('{who} made a passkey for {detail}.', { who, detail: detail ?? '' })
    case 'passkey-removed':
      return phrase('{who} removed a passkey for {detail}.', { who, detail: detail ?? '' })
    case 'passkey-refused':
      return phrase('A passkey was refused: unknown, or not answered as it was asked.')
    case 'ended':
      return phrase('{hand} ended the account of {who}.', { hand, who })
    case 'call-refused':
      return phrase('{who} was refused {detail}.', { who, detail: detail ?? phrase('a step') })
    case 'session-refused':
      return phrase('A cookie was refused: unknown, ended or too old.')
  }
}
