import { aRole, isRole } from '#core/words/roles.ts'

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

const asRole = (detail: string | null): string => (detail !== null && isRole(detail) ? aRole(detail) : 'somebody')

/** What happened, as a sentence for a manager. */
export function sayDoorEvent({ kind, name, by, detail }: DoorEvent): string {
  const who = name ?? 'Somebody'
  const hand = by ?? 'The house machine'
  switch (kind) {
    case 'signed-in':
      return `${who} signed in.`
    case 'wrong-password':
      return `A wrong name or password was given for ${who}.`
    case 'made-to-wait':
      return `${who} was not let in: too many tries.`
    case 'signed-out':
      return `${who} signed out.`
    case 'sessions-ended':
      return `${hand} ended ${detail ?? 'sessions'} of ${who}.`
    case 'invited':
      return `${hand} invited ${who} as ${asRole(detail)}.`
    case 'link-renewed':
      return `${hand} made a new link for ${who}.`
    case 'link-used':
      return `${who} chose a password by a one-time link.`
    case 'link-refused':
      return 'A one-time link was refused: used, too old or unknown.'
    case 'role-changed':
      return `${hand} made ${who} ${asRole(detail)}.`
    case 'units-changed':
      return `${hand} gave ${who} ${detail === '' || detail === null ? 'no units' : `the units ${detail}`}.`
    case 'password-changed':
      return `${who} changed the password.`
    case 'ended':
      return `${hand} ended the account of ${who}.`
    case 'call-refused':
      return `${who} was refused ${detail ?? 'a step'}.`
    case 'session-refused':
      return 'A cookie was refused: unknown, ended or too old.'
  }
}
