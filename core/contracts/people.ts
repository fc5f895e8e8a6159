import { phrase } from '#core/words/phrase.ts'
import { z } from 'zod'
import { base, instant, typedName } from '#core/contracts/base.ts'
import { roles } from '#core/words/roles.ts'

/** Who may come in from other desks of the house, what each may do, and what has happened at the door. */
const id = z.number().int().min(1)
const role = z.enum(roles)
/** Of a driver: the units that may be weighed. */
const units = z.array(typedName).max(50, { error: () => phrase('At most 50 units are given to a driver') })
/** A name at the door is short enough to stand in the bar. */
const personName = typedName.max(80, { error: () => phrase('A name of at most 80 letters is accepted') })
/** Longer than any rule allows, so that the rule's own sentence refuses it. */
const password = z.string().max(1000)
/** What a one-time link carries. */
const token = z.string().regex(/^[\w-]{43}$/, { error: () => phrase('The whole link is accepted, as it was given') })

const signedIn = z.object({ name: z.string(), role, units: z.array(z.string()) })
export type SignedIn = z.infer<typeof signedIn>

/**
 * Where a window stands. alone: one machine, nobody signs in. house machine: the one that serves the house, whose own
 * window may do everything. desk: another one; person: null until somebody has signed in.
 */
const standing = z.discriminatedUnion('at', [
  z.object({ at: z.literal('alone') }),
  z.object({ at: z.literal('house machine') }),
  z.object({ at: z.literal('desk'), person: signedIn.nullable() }),
])
export type Standing = z.infer<typeof standing>

const session = z.object({
  id: z.number(),
  begunAt: instant,
  endsAt: instant,
  seenAt: instant,
  address: z.string(),
  browser: z.string(),
  /** The one that asks. */
  own: z.boolean(),
})
const listedPerson = signedIn.extend({
  id: z.number(),
  /** invited: the password is still to be chosen. ended: may no longer come in; the name stays taken. */
  state: z.enum(['active', 'invited', 'ended']),
  madeAt: instant,
  madeBy: z.string(),
  /** Until when a link that was given is good; null: there is none. */
  linkUntil: instant.nullable(),
  sessions: z.array(session),
})
export type ListedPerson = z.infer<typeof listedPerson>

const peopleList = z.object({ people: z.array(listedPerson) })

/** token: stands behind `#/welcome/` in the address; it is told this once and kept nowhere. */
const link = z.object({ name: z.string(), token: z.string(), address: z.string().nullable(), until: instant })
export type InvitationLink = z.infer<typeof link>

const logEntry = z.object({ id: z.number(), at: instant, what: z.string(), address: z.string() })

/** What a browser says of a passkey, in base64url. */
const coded = (most: number) =>
  z
    .string()
    .max(most)
    .regex(/^[\w-]+={0,2}$/, { error: () => phrase('What the browser said of the passkey is accepted') })
const credential = z.object({
  id: coded(1400),
  rawId: coded(1400),
  type: z.literal('public-key'),
  authenticatorAttachment: z.enum(['cross-platform', 'platform']).optional(),
  clientExtensionResults: z.object({}),
})
const madePasskey = credential.extend({
  response: z.object({
    clientDataJSON: coded(8000),
    attestationObject: coded(40_000),
    transports: z
      .array(z.enum(['ble', 'cable', 'hybrid', 'internal', 'nfc', 'smart-card', 'usb']))
      .max(10)
      .optional(),
  }),
})
const usedPasskey = credential.extend({
  response: z.object({
    clientDataJSON: coded(8000),
    authenticatorData: coded(8000),
    signature: coded(4000),
    userHandle: coded(200).optional(),
  }),
})
/** What the browser is asked, as the Web Authentication API has it: the library on either side knows its form. */
const askedOfBrowser = z.custom<Readonly<Record<string, unknown>>>(
  (value) => typeof value === 'object' && value !== null,
)
const passkeys = z.array(z.object({ id: z.number(), host: z.string(), madeAt: instant, usedAt: instant.nullable() }))

export const peopleContract = {
  /** Asked by every window before anything else. */
  standing: base.output(standing),
  signIn: base.input(z.object({ name: typedName, password })).output(signedIn),
  /** Errors of all that is about passkeys: REFUSED `no-name` where the house was opened by a number. */
  passkeyChallenge: base.output(askedOfBrowser),
  signInByPasskey: base.input(z.object({ passkey: usedPasskey })).output(signedIn),
  signOut: base.output(z.object({ out: z.literal(true) })),
  /** Whom a one-time link is for. Errors: REFUSED `no-such-link`. */
  invitation: base.input(z.object({ token })).output(z.object({ name: z.string(), role, until: instant })),
  /** Sets the password that a link is for, uses the link up and signs its person in. */
  accept: base.input(z.object({ token, password })).output(signedIn),
  /** Of oneself; ends one's other sessions. */
  changePassword: base.input(z.object({ old: password, new: password })).output(z.object({ changed: z.literal(true) })),

  /** One's own. */
  passkeys: base.output(passkeys),
  passkeyToMake: base.output(askedOfBrowser),
  keepPasskey: base.input(z.object({ passkey: madePasskey })).output(z.object({ kept: z.literal(true) })),
  removePasskey: base.input(z.object({ id })).output(z.object({ removed: z.literal(true) })),

  list: base.output(peopleList),
  invite: base.input(z.object({ name: personName, role, units })).output(link),
  /** Another link, for a person whose password is forgotten or whose link ran out. */
  newLink: base.input(z.object({ id })).output(link),
  /** Ends the other sessions of that person. */
  change: base.input(z.object({ id, role, units })).output(z.object({ changed: z.boolean() })),
  /** Lets a person in no longer, or again by a new link. */
  end: base.input(z.object({ id })).output(z.object({ ended: z.literal(true) })),
  /** One session, or all of a person. */
  endSessions: base
    .input(z.union([z.object({ person: id }), z.object({ session: id })]))
    .output(z.object({ ended: z.number() })),
  /** after: the last entry of the page before. */
  log: base
    .input(z.object({ after: id.optional(), limit: z.number().int().min(1).max(200).optional() }))
    .output(z.object({ rows: z.array(logEntry), next: z.number().nullable() })),
}
