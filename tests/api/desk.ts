import { type ClientContext, type ClientLink, ORPCError, createORPCClient } from '@orpc/client'
import { type AnyProcedure, call, isProcedure } from '@orpc/server'
import { admitCall, refusedBody } from '#core/api/at-the-door.ts'
import type { Context } from '#core/api/context.ts'
import { router } from '#core/api/router.ts'
import { type Door, openDoor } from '#core/door/door.ts'
import type { Role } from '#core/words/roles.ts'
import type { Client } from '#tests/api/windows.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'

/** A password that every rule lets through. */
export const goodPassword = 'four words in a row'

/** Another desk of a house: a browser with its cookies, reaching the procedures as the house lets it. */
export interface Desk {
  readonly client: Client
  /** The cookies as the browser would send them; may be set to forge. */
  cookie: string | undefined
  /** `Set-Cookie` headers as they came. */
  readonly given: string[]
}

export interface House extends AsyncDisposable {
  readonly app: RunningApp
  readonly door: Door
  /** The window of the house machine itself. */
  readonly here: Client
  desk(options?: { readonly from?: string; readonly cookie?: string; readonly origin?: string }): Desk
  /** A desk at which a new person of a role has signed in. */
  signedIn(role: Role, options?: { readonly units?: readonly string[]; readonly name?: string }): Promise<Desk>
}

function procedureAt(path: readonly string[]): AnyProcedure {
  let found: unknown = router
  for (const name of path) found = Reflect.get(found as object, name)
  if (!isProcedure(found)) throw new Error(`no procedure ${path.join('.')}`)
  return found
}

const clientBy = (answer: (path: readonly string[], input: unknown, signal: AbortSignal | undefined) => unknown) =>
  createORPCClient({
    call: async (path, input, { signal }) => answer(path, input, signal),
  } satisfies ClientLink<ClientContext>) as Client

/** The refusal that stands before any procedure, read as a window would read it. */
function refusalIn(body: string): ORPCError<string, unknown> {
  const { json } = JSON.parse(body) as { json: { code: string; status: number; message: string } }
  return new ORPCError(json.code, json)
}

/** A house on a fleet file of its own: its door, and desks whose calls go the way they go over the network. */
export async function runHouse(options?: { readonly app?: RunningApp }): Promise<House> {
  const app = options?.app ?? (await runApp())
  const door = await openDoor(app.context.fleet.file())
  const context: Context = { ...app.context, door }
  const here = clientBy((path, input, signal) =>
    call(procedureAt(path), input, { context, path, ...(signal && { signal }) }),
  )

  const desk = ({
    from = '10.0.0.7',
    cookie,
    origin = 'https://yard-office:8443',
  }: {
    from?: string
    cookie?: string
    origin?: string
  } = {}): Desk => {
    const own: Desk = {
      cookie,
      given: [],
      client: clientBy(async (path, input, signal) => {
        const admission = await door.admit({ cookie: own.cookie, from, procedure: path.join('.') })
        if (admission.to === 'refused') throw refusalIn(refusedBody(admission))
        const caller = {
          session: admission.session,
          from,
          browser: 'a test',
          cookie: own.cookie,
          origin,
          setCookie: (text: string) => {
            own.given.push(text)
            own.cookie = text.split(';', 1)[0]
          },
        }
        admitCall({ ...context, caller }, path)
        return call(procedureAt(path), structuredClone(input), {
          context: { ...context, caller },
          path,
          ...(signal && { signal }),
        })
      }),
    }
    return own
  }
  return {
    app,
    door,
    here,
    desk,
    signedIn: async (role, { units = [], name = `${role} ${Math.random().toString(36).slice(2, 8)}` } = {}) => {
      const { token } = await here.people.invite({ name, role, units: [...units] })
      const own = desk()
      await own.client.people.accept({ token, password: goodPassword })
      return own
    },
    [Symbol.asyncDispose]: async () => {
      await door.close()
      await app[Symbol.asyncDispose]()
    },
  }
}
