import type { AuthenticationResponseJSON, RegistrationResponseJSON } from '@simplewebauthn/server'
import type { Context } from '#core/api/context.ts'
import { procedures } from '#core/api/procedures.ts'
import type { SignedIn, Standing } from '#core/contracts/people.ts'
import { type Caller, type Door, type DoorHand, type Session, atTheHouseMachine } from '#core/door/door.ts'
import { sayDoorEvent } from '#core/words/door-events.ts'
import { TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

const usualPage = 100

/** Errors: TarelineError `alone`. */
function doorOf({ door }: Context): Door {
  if (door) return door
  throw new TarelineError(
    'alone',
    phrase(
      'This machine works alone: nobody signs in, and nobody has to be let in. Start a house to have other desks.',
    ),
  )
}

/** Whoever comes to the door from another desk. Errors: TarelineError `alone`, `at-the-house-machine`. */
function visitorOf(context: Context): { door: Door; caller: Caller } {
  const door = doorOf(context)
  if (context.caller) return { door, caller: context.caller }
  throw new TarelineError(
    'at-the-house-machine',
    phrase('Nobody signs in on the house machine itself: it may do everything.'),
  )
}

/** The same of somebody who has signed in. Errors: also TarelineError `not-signed-in`. */
function signedInOf(context: Context) {
  const { door, caller } = visitorOf(context)
  const { session } = caller
  if (!session) throw new TarelineError('not-signed-in', phrase('You are not signed in. Sign in first.'))
  return { door, caller, session }
}

/** Who changes something about people. */
const handOf = ({ caller }: Context): DoorHand => caller ?? atTheHouseMachine

const shown = ({ name, role, units }: Session): SignedIn => ({ name, role, units: [...units] })

const standingOf = ({ door, caller }: Context): Standing => {
  if (!door) return { at: 'alone' }
  if (!caller) return { at: 'house machine' }
  return { at: 'desk', person: caller.session && shown(caller.session) }
}

export const peopleHandlers = {
  standing: procedures.people.standing.handler(({ context }) => standingOf(context)),
  signIn: procedures.people.signIn.handler(async ({ input: { name, password }, context }) => {
    const { door, caller } = visitorOf(context)
    return shown(await door.signIn(name, password, caller))
  }),
  signOut: procedures.people.signOut.handler(async ({ context }) => {
    const { door, caller } = visitorOf(context)
    await door.signOut(caller)
    return { out: true as const }
  }),
  invitation: procedures.people.invitation.handler(async ({ input: { token }, context }) => {
    const { door, caller } = visitorOf(context)
    const { account, until } = await door.linkOf(token, caller)
    return { name: account.name, role: account.role, until }
  }),
  accept: procedures.people.accept.handler(async ({ input: { token, password }, context }) => {
    const { door, caller } = visitorOf(context)
    return shown(await door.accept(token, password, caller))
  }),
  changePassword: procedures.people.changePassword.handler(async ({ input, context }) => {
    const { door, caller, session } = signedInOf(context)
    await door.changePassword(caller, session, input.old, input.new)
    return { changed: true as const }
  }),
  passkeyChallenge: procedures.people.passkeyChallenge.handler(async ({ context }) => {
    const { door, caller } = visitorOf(context)
    return { ...(await door.passkeyToSignIn(caller)) }
  }),
  signInByPasskey: procedures.people.signInByPasskey.handler(async ({ input: { passkey }, context }) => {
    const { door, caller } = visitorOf(context)
    return shown(await door.signInByPasskey(passkey as AuthenticationResponseJSON, caller))
  }),
  passkeys: procedures.people.passkeys.handler(async ({ context }) => {
    const { door, session } = signedInOf(context)
    return (await door.passkeysOf(session)).map(({ id, host, madeAt, usedAt }) => ({ id, host, madeAt, usedAt }))
  }),
  passkeyToMake: procedures.people.passkeyToMake.handler(async ({ context }) => {
    const { door, caller, session } = signedInOf(context)
    return { ...(await door.passkeyToMake(session, caller)) }
  }),
  keepPasskey: procedures.people.keepPasskey.handler(async ({ input: { passkey }, context }) => {
    const { door, caller, session } = signedInOf(context)
    await door.keepPasskey(session, passkey as RegistrationResponseJSON, caller)
    return { kept: true as const }
  }),
  removePasskey: procedures.people.removePasskey.handler(async ({ input: { id }, context }) => {
    const { door, caller, session } = signedInOf(context)
    await door.removePasskey(session, id, caller)
    return { removed: true as const }
  }),

  list: procedures.people.list.handler(async ({ context }) => ({
    people: (await doorOf(context).list()).map(({ id, name, role, units, ended, hasPassword, ...rest }) => ({
      id,
      name,
      role,
      units: [...units],
      state: ended ? ('ended' as const) : hasPassword ? ('active' as const) : ('invited' as const),
      madeAt: rest.madeAt,
      madeBy: rest.madeBy,
      linkUntil: rest.linkUntil,
      sessions: rest.sessions.map(({ personId: _, ...session }) => ({
        ...session,
        own: session.id === context.caller?.session?.id,
      })),
    })),
  })),
  invite: procedures.people.invite.handler(({ input: { name, ...rights }, context }) =>
    doorOf(context).invite(name, rights, handOf(context)),
  ),
  newLink: procedures.people.newLink.handler(({ input: { id }, context }) =>
    doorOf(context).newLink(id, handOf(context)),
  ),
  change: procedures.people.change.handler(async ({ input: { id, ...rights }, context }) => ({
    changed: await doorOf(context).setRights(id, rights, handOf(context)),
  })),
  end: procedures.people.end.handler(async ({ input: { id }, context }) => {
    await doorOf(context).end(id, handOf(context))
    return { ended: true as const }
  }),
  endSessions: procedures.people.endSessions.handler(async ({ input, context }) => ({
    ended: await doorOf(context).endSessions(input, handOf(context)),
  })),
  log: procedures.people.log.handler(async ({ input: { after, limit = usualPage }, context }) => {
    // One more than asked for tells whether there is another page.
    const found = await doorOf(context).log({ after, limit: limit + 1 })
    const page = found.slice(0, limit)
    return {
      next: found.length > limit ? (page.at(-1)?.id ?? null) : null,
      rows: page.map(({ id, at, address, ...event }) => ({
        id,
        at,
        what: sayDoorEvent({ ...event, address }),
        address,
      })),
    }
  }),
}
