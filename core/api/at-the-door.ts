import { mapEventIterator } from '@orpc/client'
import { ORPCError } from '@orpc/server'
import { isStream } from '#core/api/answer-errors.ts'
import type { Context } from '#core/api/context.ts'
import type { TicketPage } from '#core/contracts/evidence.ts'
import type { PickUnits } from '#core/contracts/weigh.ts'
import type { Admission, Caller, Session } from '#core/door/door.ts'
import { callRefusal, inputRefusal, isOpenToAll, isProcedure } from '#core/people/roles.ts'
import { type Asked, unitsAsked, unitsRefusal } from '#core/people/units-asked.ts'
import { listTicketReadings, readEvidence } from '#core/store/evidence.ts'
import { findNotedReading } from '#core/store/heavy.ts'
import type { Store } from '#core/store/open.ts'
import { TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

type Refused = Extract<Admission, { to: 'refused' }>

const codes = { 401: 'UNAUTHORIZED', 403: 'FORBIDDEN', 404: 'NOT_FOUND' } as const

/** A refusal at the door as a procedure answers it, so that a window can tell it from every other. */
const answerOf = ({ status, sentence }: Pick<Refused, 'status' | 'sentence'>) =>
  new ORPCError(codes[status], { status, message: sentence })

/** The same as the body of an answer that is given before any procedure has seen the call, as JSON. */
export const refusedBody = (refused: Refused): string => JSON.stringify({ json: answerOf(refused).toJSON(), meta: [] })

/**
 * Refuses what the person behind a call may not ask at all; nothing is refused without a caller, at the house machine
 * or the one machine itself. It asks the same table as the door did when the call came, so that no way around the one
 * is a way around the other.
 */
export function admitCall({ caller }: Context, path: readonly string[]): void {
  if (!caller) return
  const procedure = path.join('.')
  if (!isProcedure(procedure)) throw answerOf({ status: 404, sentence: phrase('There is no such procedure.') })
  if (isOpenToAll(procedure)) return
  if (!caller.session)
    throw answerOf({ status: 401, sentence: phrase('You are not signed in here, or no longer. Sign in.') })
  const sentence = callRefusal(caller.session.role, procedure)
  if (sentence !== undefined) throw answerOf({ status: 403, sentence })
}

/** The units that a call is about, as the record tells. */
async function unitsOf(store: Store, asked: Asked): Promise<readonly string[]> {
  const { db } = store
  switch (asked.about) {
    case 'units':
      return asked.units
    case 'reading': {
      const reading = await findNotedReading(db, asked.name)
      if (!reading)
        throw new TarelineError('no-such-reading', phrase('There is no reading {name}.', { name: asked.name }))
      return unitsOf(store, { about: 'evidence', kind: 'reading', id: reading.id })
    }
    case 'evidence': {
      const { units } = await readEvidence(db, asked.kind, asked.id)
      const readings = asked.kind === 'ticket' ? await listTicketReadings(db, asked.id) : []
      const read = await Promise.all(readings.map(({ id }) => readEvidence(db, 'reading', id)))
      return [...new Set([...units, ...read.flatMap((reading) => reading.units)])]
    }
    default:
      return []
  }
}

/** The units that a driver has been given; undefined for whoever may work on any. */
export const unitsGiven = (caller: Caller | undefined): readonly string[] | undefined =>
  caller?.session?.role === 'driver' ? caller.session.units : undefined

/** A driver weighs the units given and no others; whoever is no driver is not held to any. */
async function checkUnits({ fleet }: Context, { role, units }: Session, asked: Asked): Promise<string | undefined> {
  if (role !== 'driver' || asked.about === 'no unit' || asked.about === 'all units, of which some are shown')
    return undefined
  if (asked.about === 'what no driver may ask') return phrase('A driver weighs the units given. Nothing was changed.')
  return unitsRefusal(units, await fleet.use((store) => unitsOf(store, asked)))
}

/** What is left of the choice of units for somebody who has been given some. */
function onlyGiven({ units, usual, ...rest }: PickUnits, isGiven: (unit: string) => boolean): PickUnits {
  return {
    ...rest,
    units: units.filter(({ unit }) => isGiven(unit)),
    usual: usual.filter((combination) => combination.units.every(isGiven)),
  }
}

/** The same of tickets: those that weighed no other unit. */
const ticketsOf = (page: TicketPage, isGiven: (unit: string) => boolean): TicketPage => ({
  ...page,
  rows: page.rows.filter(({ units }) => units.every(isGiven)),
})

/** A save that waited in somebody's queue is sent by nobody else: it would be logged under another name. */
function sentByAnother({ name }: Session, input: unknown): string | undefined {
  if (typeof input !== 'object' || input === null || !('by' in input)) return undefined
  const waited = ('sent' in input && input.sent !== undefined) || ('sentId' in input && input.sentId !== undefined)
  return waited && input.by !== name
    ? phrase('This was typed by {by}, and is sent once that person has signed in. Nothing was saved.', {
        by: String(input.by),
      })
    : undefined
}

/**
 * Holds what is asked, in the form that its schema gives it, against the rights of the person behind the call, and
 * signs it with that person's name, whatever name the window sent.
 */
export async function holdToRights(
  context: Context & { readonly caller: Caller },
  path: readonly string[],
  input: unknown,
): Promise<void> {
  const { caller, door } = context
  const procedure = path.join('.')
  const { session } = caller
  if (!session || !isProcedure(procedure)) return
  const sentence =
    sentByAnother(session, input) ??
    inputRefusal(session.role, procedure, input) ??
    (await checkUnits(context, session, unitsAsked(procedure, input)))
  if (sentence !== undefined) {
    await door?.noteRefused(caller, procedure)
    throw answerOf({ status: 403, sentence })
  }
  if (typeof input === 'object' && input !== null && Object.hasOwn(input, 'by')) Reflect.set(input, 'by', session.name)
}

/** An answer as the person behind the call may see it, for as long as the session lasts. */
export function answerFor<T>(
  { caller, door }: Context & { readonly caller: Caller },
  path: readonly string[],
  output: T,
): T {
  const { session } = caller
  const procedure = path.join('.')
  const given = unitsGiven(caller)
  if (given) {
    const isGiven = (unit: string) => given.includes(unit)
    if (procedure === 'weigh.combinations') return onlyGiven(output as PickUnits, isGiven) as T
    if (procedure === 'evidence.tickets') return ticketsOf(output as TicketPage, isGiven) as T
  }
  // News go on for minutes, and may not outlast the session.
  if (procedure === 'file.follow' && isStream(output) && session && door)
    return mapEventIterator(output, {
      value: async (part: unknown) => {
        if (await door.isOpen(session)) return part
        throw answerOf({ status: 401, sentence: phrase('Your session has ended. Sign in again.') })
      },
      error: async (error) => error,
    }) as T
  return output
}
