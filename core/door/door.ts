import { cookieNameOf, cookieText, hashOf, newToken, noCookieText, tokensIn } from '#core/door/cookie.ts'
import { makePasskeys } from '#core/door/passkeys.ts'
import { hashPassword, isPassword, isTooBusy } from '#core/door/password.ts'
import { passwordProblem } from '#core/people/password-rule.ts'
import { callRefusal, isOpenToAll, isProcedure } from '#core/people/roles.ts'
import { addressPatience, makeThrottle, namePatience, waitText } from '#core/people/throttle.ts'
import { timeNow } from '#core/store/clock.ts'
import {
  type Account,
  type PeopleWriter,
  type Rights,
  accountById,
  addAccount,
  dropLinkOf,
  endAccount,
  findAccount,
  findLink,
  hasOtherManager,
  keepLink,
  listAccounts,
  listLinks,
  nameKey,
  setPassword,
  setRights,
  useLink,
} from '#core/store/people/accounts.ts'
import { type LoggedEvent, listEvents, noteEvent } from '#core/store/people/door-log.ts'
import {
  type StoredPasskey,
  addPasskey,
  dropPasskey,
  dropPasskeysOf,
  findPasskey,
  listPasskeys,
  mostPasskeys,
  notePasskeyUsed,
} from '#core/store/people/passkeys.ts'
import { keepSetting, openPeopleFile, readSetting } from '#core/store/people/people-file.ts'
import {
  type StoredSession,
  addSession,
  endSession,
  endSessionsOf,
  findSession,
  listSessions,
  noteSeen,
  sessionById,
} from '#core/store/people/sessions.ts'
import type { DoorEvent } from '#core/words/door-events.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { phrase } from '#core/words/phrase.ts'
import { FieldError, TarelineError } from '#core/words/problem.ts'
import type { Role } from '#core/words/roles.ts'

/** How long a session lasts from its beginning, and a one-time link from its making. */
const sessionHours = 12
export const linkHours = 48
const hourMs = 3_600_000
/** A session is marked as seen at most so often. */
const seenMs = 60_000
/** The same refusal from the same place is taken down at most so often. */
const quietMs = 60_000
const mostQuiet = 1000

/** Whoever has come in, as every procedure may know them. */
export interface Session extends Rights {
  readonly id: number
  readonly personId: number
  readonly name: string
}

/** Where a call came from, and how its browser is given a cookie. */
export interface Visitor {
  /** Of the machine that asks, as its connection tells it. */
  readonly from: string
  /** Under which address of the house it came, such as `https://yard-office:8443`. */
  readonly origin: string
  /** What the browser calls itself: for the list of sessions only. */
  readonly browser: string
  /** The `Cookie` header as it came. */
  readonly cookie: string | undefined
  /** Adds one `Set-Cookie` header to the answer. */
  setCookie(text: string): void
}

/** The person behind a call over the fleet's network. session: null before somebody has signed in. */
export interface Caller extends Visitor {
  readonly session: Session | null
}

export type Admission =
  | { readonly to: 'in'; readonly session: Session | null }
  | { readonly to: 'refused'; readonly status: 401 | 403 | 404; readonly sentence: string }

/** Who does something to people: a manager at a desk, or the house machine itself. */
export interface DoorHand {
  readonly session: Session | null
  /** '': the house machine. */
  readonly from: string
}

export const atTheHouseMachine: DoorHand = { session: null, from: '' }

export interface ListedAccount extends Omit<Account, 'password'> {
  readonly hasPassword: boolean
  readonly linkUntil: string | null
  readonly sessions: readonly StoredSession[]
}

export interface OneTimeLink {
  readonly name: string
  readonly token: string
  /** Where desks find the house; null while that is not known. */
  readonly address: string | null
  readonly until: string
}

const noSuchPerson = () =>
  new TarelineError('no-such-person', phrase('There is no such person. Look at the list again.'))
const noSuchLink = () =>
  new TarelineError(
    'no-such-link',
    phrase(
      'This link has been used already, is too old, or is not complete. A manager makes a new one on the People page.',
    ),
  )
const wayIn = () => phrase('You are not signed in here, or no longer. Sign in; what was typed is kept.')

const quietHand = { by: null, address: '' } as const
const hand = ({ session }: DoorHand): string | null => session?.name ?? null

/**
 * An address as people know it: an IPv4 one without the clothes that it wears on an IPv6 socket, none with its zone.
 */
const plainAddress = (address: string): string => address.replace(/^::ffff:(?=\d+\.)/i, '').replace(/%.*$/, '')

/** One address as it is counted: of IPv6 the network, since one machine has many addresses in it. */
function countedAddress(address: string): string {
  const bare = plainAddress(address)
  return bare.includes(':') ? bare.split(':').slice(0, 4).join(':') : bare
}

/**
 * The door of a house: tells who stands behind a call and what that person may ask, and lets people in and out. Its
 * file lies beside the fleet file. Errors: those of `openPeopleFile`.
 */
export async function openDoor(fleetFile: string) {
  const people = await openPeopleFile(fleetFile)
  const { db } = people
  const cookieName = cookieNameOf((await readSetting(db, 'house')) ?? 'house')
  const passkeys = makePasskeys()
  const names = makeThrottle(namePatience)
  const addresses = makeThrottle(addressPatience)
  const lastNoted = new Map<string, number>()
  const now = () => toStoredInstant(timeNow())
  const inHours = (hours: number) => toStoredInstant(timeNow() + hours * hourMs)
  const change = <T>(work: (db: PeopleWriter) => Promise<T>): Promise<T> => db.transaction().execute(work)
  const note = (event: DoorEvent, writer: PeopleWriter | typeof db = db) =>
    noteEvent(writer, now(), { ...event, address: plainAddress(event.address).slice(0, 100) })

  /** Takes down what anybody can cause as often as they like: once a minute from each place. */
  const noteQuietly = async (event: DoorEvent): Promise<void> => {
    const key = `${event.kind} ${event.name ?? ''} ${event.detail ?? ''} ${countedAddress(event.address)}`
    const at = performance.now()
    if (at - (lastNoted.get(key) ?? Number.NEGATIVE_INFINITY) < quietMs) return
    lastNoted.delete(key)
    lastNoted.set(key, at)
    const [oldest] = lastNoted.keys()
    if (lastNoted.size > mostQuiet && oldest !== undefined) lastNoted.delete(oldest)
    await note(event)
  }

  const whoIs = async (cookie: string | undefined): Promise<Session | null> => {
    const at = now()
    for (const token of tokensIn(cookie, cookieName)) {
      const found = await findSession(db, hashOf(token), at)
      if (!found) continue
      const { session, account } = found
      if (fromStoredInstant(at) - fromStoredInstant(session.seenAt) > seenMs) await noteSeen(db, session.id, at)
      const { name, role, units } = account
      return { id: session.id, personId: account.id, name, role, units }
    }
    return null
  }

  const begin = async (writer: PeopleWriter, account: Account, visitor: Visitor): Promise<[Session, string]> => {
    const token = newToken()
    const id = await addSession(writer, {
      personId: account.id,
      tokenHash: hashOf(token),
      at: now(),
      endsAt: inHours(sessionHours),
      address: plainAddress(visitor.from).slice(0, 100),
      browser: visitor.browser.slice(0, 200),
    })
    const { name, role, units } = account
    return [{ id, personId: account.id, name, role, units }, token]
  }
  const giveCookie = (visitor: Visitor, token: string) =>
    visitor.setCookie(cookieText(cookieName, token, sessionHours * 3600))

  /** Works out a password no more often than is good for the house and for whoever is guessed at. */
  const tried = async (typedName: string, visitor: Visitor, stored: string | null, password: string) => {
    const known = await findAccount(db, typedName)
    // From here to where the try is counted nothing is waited for, so that many at once are no way around.
    const [name, address] = [nameKey(typedName), countedAddress(visitor.from)]
    const at = performance.now()
    const wait = Math.max(names.wait(name, at), addresses.wait(address, at))
    // A name that nobody has may be a password that slipped into the wrong field.
    const event = { name: known?.name ?? null, by: null, address: visitor.from, detail: null }
    if (wait > 0) {
      await noteQuietly({ ...event, kind: 'made-to-wait' })
      throw new TarelineError(
        'wait',
        phrase('There were too many tries. Try again in {wait}; a manager can make a new link meanwhile.', {
          wait: waitText(wait),
        }),
      )
    }
    if (isTooBusy())
      throw new TarelineError('busy', phrase('Many people are signing in just now. Try again in a few seconds.'))
    names.begin(name, at)
    addresses.begin(address, at)
    if (await isPassword(password, stored)) {
      names.forgive(name)
      addresses.forgive(address)
      return true
    }
    await note({ ...event, kind: 'wrong-password' })
    return false
  }

  const choose = async (password: string, name: string): Promise<string> => {
    const problem = passwordProblem(password, name)
    if (problem !== undefined) throw new FieldError('password', 'password', problem)
    return hashPassword(password)
  }

  const makeLink = async (writer: PeopleWriter, personId: number): Promise<{ token: string; until: string }> => {
    const token = newToken()
    const until = inHours(linkHours)
    await keepLink(writer, { personId, tokenHash: hashOf(token), at: now(), endsAt: until })
    return { token, until }
  }
  const address = () => readSetting(db, 'address')

  const accountFor = async (id: number): Promise<Account> => {
    const account = await accountById(db, id)
    if (!account) throw noSuchPerson()
    return account
  }
  const keepAManager = async (account: Account, isStill: boolean): Promise<void> => {
    if (isStill || account.role !== 'manager' || (await hasOtherManager(db, account.id))) return
    throw new TarelineError(
      'last-manager',
      phrase('{name} is the only manager who can come in. Make somebody else a manager first. Nothing was changed.', {
        name: account.name,
      }),
    )
  }
  const isFree = async (name: string): Promise<void> => {
    const known = await findAccount(db, name)
    if (known)
      throw new FieldError(
        'name-taken',
        'name',
        phrase(
          '{name} is on the list already{ended, select, yes {, as somebody who may no longer come in} other {}}. A name is given once, since the change log names people by it.',
          { name: known.name, ended: known.ended ? 'yes' : 'no' },
        ),
      )
    if (nameKey(name) === 'import')
      throw new FieldError('name-taken', 'name', phrase('The change log names an import “import”; take another name.'))
  }
  const askerOf = ({ origin, from }: Visitor) => ({ origin, address: countedAddress(from) })
  /** The passkeys of somebody who may have one more. Errors: TarelineError `too-many`. */
  const fewPasskeysOf = async (reader: PeopleWriter | typeof db, { personId }: Session): Promise<StoredPasskey[]> => {
    const known = await listPasskeys(reader, personId)
    if (known.length < mostPasskeys) return known
    throw new TarelineError(
      'too-many',
      phrase('You have {number} passkeys. Remove one that you no longer use first.', { number: mostPasskeys }),
    )
  }
  const unitsOf = (role: Role, units: readonly string[]): string[] => (role === 'driver' ? [...new Set(units)] : [])

  return {
    /** The file of people. */
    file: people.file,

    /**
     * Whether a call may be answered, by its cookie, where it came from and the name of its procedure (`weigh.save`).
     * Asked before a body is read.
     */
    admit: async ({
      cookie,
      from,
      procedure,
    }: Pick<Visitor, 'cookie' | 'from'> & { readonly procedure: string }): Promise<Admission> => {
      if (!isProcedure(procedure))
        return { to: 'refused', status: 404, sentence: phrase('There is no such procedure.') }
      const session = await whoIs(cookie)
      if (!session) {
        if (tokensIn(cookie, cookieName).length > 0)
          await noteQuietly({ kind: 'session-refused', name: null, by: null, address: from, detail: null })
        return isOpenToAll(procedure) ? { to: 'in', session } : { to: 'refused', status: 401, sentence: wayIn() }
      }
      const sentence = callRefusal(session.role, procedure)
      if (sentence === undefined) return { to: 'in', session }
      await noteQuietly({ kind: 'call-refused', name: session.name, by: null, address: from, detail: procedure })
      return { to: 'refused', status: 403, sentence }
    },

    /** Whether a session still lasts, with the rights that it was known by. */
    isOpen: async ({ id, role, units }: Session): Promise<boolean> => {
      const found = await sessionById(db, id)
      const account = found && found.endsAt > now() ? await accountById(db, found.personId) : undefined
      return (
        account !== undefined &&
        !account.ended &&
        account.role === role &&
        account.units.length === units.length &&
        units.every((unit) => account.units.includes(unit))
      )
    },

    /** Takes down that somebody was refused for what was asked, once a minute. */
    noteRefused: ({ session, from }: Caller, procedure: string): Promise<void> =>
      noteQuietly({ kind: 'call-refused', name: session?.name ?? null, by: null, address: from, detail: procedure }),

    /** Errors: TarelineError `wrong-password`, `wait`, `busy`. */
    signIn: async (name: string, password: string, visitor: Visitor): Promise<Session> => {
      const account = await findAccount(db, name)
      const isOpen = account !== undefined && !account.ended
      if (!(await tried(name, visitor, isOpen ? account.password : null, password)) || !isOpen)
        throw new TarelineError(
          'wrong-password',
          phrase('The name or the password is wrong. Who has forgotten it gets a new link from a manager.'),
        )
      const [session, token] = await change(async (writer) => {
        const begun = await begin(writer, account, visitor)
        await note({ kind: 'signed-in', name: account.name, by: null, address: visitor.from, detail: null }, writer)
        return begun
      })
      giveCookie(visitor, token)
      return session
    },

    /** What a browser makes a passkey by. Errors: TarelineError `no-name`, `too-many`. */
    passkeyToMake: async (session: Session, visitor: Visitor) => {
      const known = await fewPasskeysOf(db, session)
      return passkeys.toMake({ id: session.personId, name: session.name }, known, askerOf(visitor))
    },

    /** Keeps a passkey that was just made. Errors: TarelineError `no-name`, `too-many`, `passkey-refused`. */
    keepPasskey: async (
      session: Session,
      response: Parameters<typeof passkeys.made>[1],
      { origin, from }: Visitor,
    ): Promise<void> => {
      const made = await passkeys.made(session.personId, response, origin)
      await change(async (writer) => {
        // While it was looked at, the session may have ended, and others may have been kept.
        if (!(await sessionById(writer, session.id))) throw passkeys.refused()
        await fewPasskeysOf(writer, session)
        if (await findPasskey(writer, made.credential))
          throw new TarelineError(
            'passkey-refused',
            phrase('There is a passkey for this house on that device already.'),
          )
        await addPasskey(writer, { ...made, personId: session.personId, madeAt: now() })
        await note({ kind: 'passkey-added', name: session.name, by: null, address: from, detail: made.host }, writer)
      })
    },

    passkeysOf: ({ personId }: Session): Promise<StoredPasskey[]> => listPasskeys(db, personId),

    /** Takes an own passkey away; nothing where there is none. */
    removePasskey: async (session: Session, id: number, { from }: Visitor): Promise<void> => {
      const found = (await listPasskeys(db, session.personId)).find((each) => each.id === id)
      if (!found) return
      await change(async (writer) => {
        if (await dropPasskey(writer, session.personId, id))
          await note(
            { kind: 'passkey-removed', name: session.name, by: null, address: from, detail: found.host },
            writer,
          )
      })
    },

    /** What a browser signs in with a passkey by. Errors: TarelineError `no-name`. */
    passkeyToSignIn: (visitor: Visitor) => passkeys.toSignIn(askerOf(visitor)),

    /** Errors: TarelineError `no-name`, `passkey-refused`. */
    signInByPasskey: async (response: Parameters<typeof passkeys.used>[1], visitor: Visitor): Promise<Session> => {
      const refuse = async () => {
        await noteQuietly({ kind: 'passkey-refused', name: null, by: null, address: visitor.from, detail: null })
        return passkeys.refused()
      }
      const found = await findPasskey(db, response.id)
      const account = found && (await accountById(db, found.personId))
      if (!found || !account || account.ended) throw await refuse()
      const counter = await passkeys.used(found, response, visitor.origin).catch(async () => {
        throw await refuse()
      })
      const entered = await change(async (writer) => {
        // Another may have used it, or somebody taken it away, while the answer was looked at.
        if (!(await notePasskeyUsed(writer, found, counter, now()))) return undefined
        const begun = await begin(writer, account, visitor)
        const event = { name: account.name, by: null, address: visitor.from, detail: 'passkey' }
        await note({ kind: 'signed-in', ...event }, writer)
        return begun
      })
      if (!entered) throw await refuse()
      const [session, token] = entered
      giveCookie(visitor, token)
      return session
    },

    signOut: async ({ session, from, setCookie }: Caller): Promise<void> => {
      if (session)
        await change(async (writer) => {
          await endSession(writer, session.id)
          await note({ kind: 'signed-out', name: session.name, by: null, address: from, detail: null }, writer)
        })
      setCookie(noCookieText(cookieName))
    },

    /** Whom a one-time link is for. Errors: TarelineError `no-such-link`. */
    linkOf: async (token: string, { from }: Pick<Visitor, 'from'>): Promise<{ account: Account; until: string }> => {
      const found = await findLink(db, hashOf(token), now())
      if (found) return found
      await noteQuietly({ kind: 'link-refused', name: null, by: null, address: from, detail: null })
      throw noSuchLink()
    },

    /** Uses a one-time link up. Errors: TarelineError `no-such-link`, FieldError `password`. */
    accept: async (token: string, password: string, visitor: Visitor): Promise<Session> => {
      const found = await findLink(db, hashOf(token), now())
      const refuseLink = async () => {
        await noteQuietly({ kind: 'link-refused', name: null, by: null, address: visitor.from, detail: null })
        return noSuchLink()
      }
      if (!found) throw await refuseLink()
      const { account } = found
      const stored = await choose(password, account.name)
      const begun = await change(async (writer) => {
        // Somebody else may have used it while the password was worked out.
        if (!(await useLink(writer, hashOf(token)))) return undefined
        await setPassword(writer, account.id, stored)
        await endSessionsOf(writer, account.id)
        // Whoever needs a link may have lost what a passkey lies on.
        await dropPasskeysOf(writer, account.id)
        await note({ kind: 'link-used', name: account.name, by: null, address: visitor.from, detail: null }, writer)
        return begin(writer, account, visitor)
      })
      if (!begun) throw await refuseLink()
      const [session, cookie] = begun
      names.forgive(nameKey(account.name))
      giveCookie(visitor, cookie)
      return session
    },

    /** Errors: TarelineError `wait`, `busy`; FieldError of the field that is wrong. */
    changePassword: async (visitor: Visitor, session: Session, old: string, chosen: string): Promise<void> => {
      const account = await accountFor(session.personId)
      if (!(await tried(account.name, visitor, account.password, old)))
        throw new FieldError('wrong-password', 'old', phrase('The password you have now is another one.'))
      const stored = await choose(chosen, account.name)
      await change(async (writer) => {
        await setPassword(writer, account.id, stored)
        await endSessionsOf(writer, account.id, session.id)
        await dropLinkOf(writer, account.id)
        await note(
          { kind: 'password-changed', name: account.name, by: null, address: visitor.from, detail: null },
          writer,
        )
      })
    },

    list: async (): Promise<ListedAccount[]> => {
      const at = now()
      const links = await listLinks(db, at)
      const sessions = Map.groupBy(await listSessions(db, at), ({ personId }) => personId)
      return (await listAccounts(db)).map(({ password, ...account }) => ({
        ...account,
        hasPassword: password !== null,
        linkUntil: links.get(account.id) ?? null,
        sessions: sessions.get(account.id) ?? [],
      }))
    },

    /** Adds a person with a password that was chosen on the house machine. Errors: FieldError. */
    add: async (name: string, { role, units }: Rights, password: string): Promise<void> => {
      await isFree(name)
      const stored = await choose(password, name)
      await change(async (writer) => {
        await addAccount(writer, {
          name,
          role,
          units: unitsOf(role, units),
          password: stored,
          by: 'the house machine',
          at: now(),
        })
        await note({ ...quietHand, kind: 'invited', name, detail: role }, writer)
      })
    },

    /** Adds a person who chooses the password by a one-time link. Errors: FieldError. */
    invite: async (name: string, { role, units }: Rights, by: DoorHand): Promise<OneTimeLink> => {
      await isFree(name)
      const link = await change(async (writer) => {
        const id = await addAccount(writer, {
          name,
          role,
          units: unitsOf(role, units),
          password: null,
          by: hand(by) ?? 'the house machine',
          at: now(),
        })
        await note({ kind: 'invited', name, by: hand(by), address: by.from, detail: role }, writer)
        return makeLink(writer, id)
      })
      return { name, ...link, address: await address() }
    },

    /** Errors: TarelineError `no-such-person`. */
    newLink: async (id: number, by: DoorHand): Promise<OneTimeLink> => {
      const { name } = await accountFor(id)
      const link = await change(async (writer) => {
        await note({ kind: 'link-renewed', name, by: hand(by), address: by.from, detail: null }, writer)
        return makeLink(writer, id)
      })
      return { name, ...link, address: await address() }
    },

    /**
     * Gives another role or other units, and ends the person's other sessions. Errors: TarelineError `last-manager`.
     */
    setRights: async (id: number, rights: Rights, by: DoorHand): Promise<boolean> => {
      const account = await accountFor(id)
      const units = unitsOf(rights.role, rights.units)
      const isRole = rights.role !== account.role
      const areUnits = units.length !== account.units.length || units.some((unit) => !account.units.includes(unit))
      if (!isRole && !areUnits) return false
      await keepAManager(account, rights.role === 'manager')
      await change(async (writer) => {
        await setRights(writer, id, { role: rights.role, units })
        await endSessionsOf(writer, id, by.session?.personId === id ? by.session.id : null)
        const event = { name: account.name, by: hand(by), address: by.from }
        if (isRole) await note({ ...event, kind: 'role-changed', detail: rights.role }, writer)
        if (areUnits) await note({ ...event, kind: 'units-changed', detail: units.join(', ') }, writer)
      })
      return true
    },

    /** Lets a person in no longer. Errors: TarelineError `no-such-person`, `last-manager`. */
    end: async (id: number, by: DoorHand): Promise<void> => {
      const account = await accountFor(id)
      await keepAManager(account, account.password === null)
      await change(async (writer) => {
        await endAccount(writer, id, now())
        await dropPasskeysOf(writer, id)
        await endSessionsOf(writer, id)
        await dropLinkOf(writer, id)
        await note({ kind: 'ended', name: account.name, by: hand(by), address: by.from, detail: null }, writer)
      })
    },

    /** Ends one session, or all of a person; answers how many. Errors: TarelineError `no-such-person`. */
    endSessions: async (
      which: { readonly person: number } | { readonly session: number },
      by: DoorHand,
    ): Promise<number> => {
      const personId = 'person' in which ? which.person : (await sessionById(db, which.session))?.personId
      if (personId === undefined) return 0
      const { name } = await accountFor(personId)
      return change(async (writer) => {
        const ended =
          'person' in which ? await endSessionsOf(writer, personId) : await endSession(writer, which.session)
        const detail = String(ended)
        await note({ kind: 'sessions-ended', name, by: hand(by), address: by.from, detail }, writer)
        return ended
      })
    },

    log: (asked: { readonly after: number | undefined; readonly limit: number }): Promise<LoggedEvent[]> =>
      listEvents(db, asked),

    /** Where desks find the house, such as `https://yard.example:8443`: links are told with it. */
    keepAddress: (origin: string): Promise<void> => keepSetting(db, 'address', origin),

    close: (): Promise<void> => people.close(),
  }
}

export type Door = Awaited<ReturnType<typeof openDoor>>
