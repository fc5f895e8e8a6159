import { type ClientContext, type ClientLink, ORPCError } from '@orpc/client'
import type { Procedure } from '#core/contracts/contract.ts'
import type { SignedIn, Standing } from '#core/contracts/people.ts'
import { foundNobody, noteHouse } from '#renderer/client/house-away.ts'
import { leaveFirst, noteLeaving } from '#renderer/client/leaving.ts'
import { isAtHouse } from '#renderer/client/pass.ts'
import { phoneStore } from '#renderer/client/phone-store.ts'

/** What weighing without the house needs of it, and nothing else of the record. */
const kept: ReadonlySet<string> = new Set<Procedure>([
  'people.standing',
  'file.state',
  'houseRules.list',
  'houseRules.zone',
  'scales.list',
  'weigh.combinations',
  'weigh.preview',
  'weighIn.prepare',
])
/** After these somebody else may stand here. */
const atTheDoor: ReadonlySet<string> = new Set<Procedure>([
  'people.signIn',
  'people.signInByPasskey',
  'people.signOut',
  'people.accept',
])

/** As long as a session lasts: whoever finds a phone later sees nothing of the fleet on it. */
const keptMs = 12 * 3_600_000
/** A house that has not answered by then is as good as none, where something is kept. */
const patienceMs = 15_000
/** The same answer is not written down more often. */
const pauseMs = 60_000

/** Whose answers these are; '': nobody has signed in. */
let person = ''
const written = new Map<string, number>()

const nameOf = (standing: Standing): string => (standing.at === 'desk' ? (standing.person?.name ?? '') : '')

const keyOf = (procedure: string, input: unknown, of: string): string =>
  procedure === 'people.standing' ? procedure : JSON.stringify([of, procedure, input ?? null])

async function keep(procedure: string, input: unknown, answer: unknown, of: string): Promise<void> {
  const key = keyOf(procedure, input, of)
  const now = Date.now()
  if (procedure === 'file.state' && now - (written.get(key) ?? 0) < pauseMs) return
  written.set(key, now)
  const db = await phoneStore()
  if (of === person) await db.put('answers', { person: of, answer, at: now }, key)
}

async function find(procedure: string, input: unknown): Promise<{ readonly answer: unknown } | undefined> {
  const found = await (await phoneStore()).get('answers', keyOf(procedure, input, person))
  const age = found === undefined ? Number.POSITIVE_INFINITY : Date.now() - found.at
  return found !== undefined && age < keptMs ? { answer: found.answer } : undefined
}

const nobody: Standing = { at: 'desk', person: null }

/** Takes it that somebody stands here; what the house has said to anybody else is forgotten. */
async function standHere(standing: Standing): Promise<void> {
  person = nameOf(standing)
  written.clear()
  const db = await phoneStore()
  const { store, done } = db.transaction('answers', 'readwrite')
  for (let at = await store.openCursor(); at; at = await at.continue())
    if (at.value.person !== person) await at.delete()
  await done
  if (person !== '') await keep('people.standing', undefined, standing, person)
}

/**
 * Leaves this device where the house gives no answer: what it has said is forgotten at once, and the session is ended
 * as soon as the house answers.
 */
export async function leaveWithoutHouse(): Promise<void> {
  noteLeaving()
  await asFarAsItGoes(standHere(nobody))
}

/** What a step at the door leaves behind: whoever was let in, or nobody. */
const standingAfter = (answer: unknown): Standing =>
  typeof answer === 'object' && answer !== null && 'name' in answer
    ? { at: 'desk', person: answer as SignedIn }
    : nobody

/** What is kept is a help and no part of the record: a browser that keeps nothing goes on without. */
const asFarAsItGoes = (work: Promise<void>): Promise<void> => work.catch(() => undefined)

class TooSlow extends Error {}

/** Fails once the house has been too slow, where something is kept; where nothing is, it is waited for. */
async function keptIfSlow(procedure: string, input: unknown): Promise<never> {
  await new Promise((resolve) => setTimeout(resolve, patienceMs))
  if ((await find(procedure, input).catch(() => undefined)) === undefined) return await new Promise(() => undefined)
  throw new TooSlow()
}

/**
 * A way to the procedures that answers from what was kept where the house of this desk gives none: then a phone can
 * weigh on. Every other call fails as it would.
 */
export const keepingAnswers = (link: ClientLink<ClientContext>): ClientLink<ClientContext> => ({
  call: async (path, input, options) => {
    if (!isAtHouse()) return await link.call(path, input, options)
    const procedure = path.join('.')
    const isKept = kept.has(procedure)
    const of = person
    try {
      const asked = leaveFirst(link, options).then(() => link.call(path, input, options))
      const answer = isKept ? await Promise.race([asked, keptIfSlow(procedure, input)]) : await asked
      noteHouse(true)
      if (atTheDoor.has(procedure)) await asFarAsItGoes(standHere(standingAfter(answer)))
      else if (procedure === 'people.standing') await asFarAsItGoes(standHere(answer as Standing))
      else if (isKept) void asFarAsItGoes(keep(procedure, input, answer, of))
      return answer
    } catch (error) {
      if (!foundNobody(error) && !(error instanceof TooSlow)) {
        if (error instanceof ORPCError) noteHouse(true)
        if (error instanceof ORPCError && error.status === 401) await asFarAsItGoes(standHere(nobody))
        throw error
      }
      noteHouse(false)
      const found = isKept ? await find(procedure, input).catch(() => undefined) : undefined
      if (!found) throw error
      if (procedure === 'people.standing') person = nameOf(found.answer as Standing)
      return found.answer
    }
  },
})
