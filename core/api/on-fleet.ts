import type { Context } from '#core/api/context.ts'
import { afterChange } from '#core/api/freshen.ts'
import { timeNow } from '#core/store/clock.ts'
import { readFileState } from '#core/store/file-state.ts'
import { refuseIfToLook } from '#core/store/look-copy.ts'
import type { Store } from '#core/store/open.ts'

/** What a handler knows of its call beside the input. now: ms UTC. */
interface Call extends Pick<Context, 'report' | 'caller'> {
  readonly now: number
  readonly signal: AbortSignal | undefined
}

type Ask<Input, Output> = (store: Store, input: Input, call: Call) => Promise<Output>

interface Asked<Input> {
  readonly input: Input
  readonly context: Context
  readonly signal?: AbortSignal | undefined
}

/** A handler that asks the open fleet. */
export const onFleet =
  <Input, Output>(ask: Ask<Input, Output>) =>
  ({ input, context: { fleet, report, caller }, signal }: Asked<Input>): Promise<Output> =>
    fleet.use((store) => ask(store, input, { now: timeNow(), report, signal, ...(caller ? { caller } : {}) }))

/** The last change of a file that was begun. */
const lastTurns = new WeakMap<Context['fleet'], Promise<unknown>>()

/**
 * Changes go one after another, each with what follows from it: of two at a time each would judge and weigh what the
 * other touched, and both be saved late.
 */
function inTurn<T>(fleet: Context['fleet'], change: () => Promise<T>): Promise<T> {
  const turn = (lastTurns.get(fleet) ?? Promise.resolve()).then(change)
  lastTurns.set(
    fleet,
    turn.catch(() => undefined),
  )
  return turn
}

/**
 * A handler that changes the record: what follows from the change is brought up to date before it answers, and every
 * window is told.
 */
export const onChange =
  <Input, Output>(change: Ask<Input, Output>) =>
  async (asked: Asked<Input>): Promise<Output> => {
    const { fleet } = asked.context
    const save = onFleet<Input, Output>(async (store, input, call) => {
      refuseIfToLook(store)
      const { revision } = await readFileState(store.db)
      const changed = await change(store, input, call)
      await afterChange(store, { ...call, after: revision })
      return changed
    })
    return await inTurn(fleet, () => fleet.news.around(() => save(asked)))
  }
