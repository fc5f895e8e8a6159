import type { Context, Sharing } from '#core/api/context.ts'
import { procedures } from '#core/api/procedures.ts'
import { phrase } from '#core/words/phrase.ts'
import { TarelineError } from '#core/words/problem.ts'

/** Errors: TarelineError `no-sharing`. */
function sharingOf({ sharing }: Context): Sharing {
  if (sharing) return sharing
  throw new TarelineError(
    'no-sharing',
    phrase('This window does not begin or end the sharing of a fleet: the command that serves the house does.'),
  )
}

export const houseHandlers = {
  facts: procedures.house.facts.handler(({ context: { house, fleet, sharing, caller } }) => ({
    house: house?.facts() ?? null,
    file: fleet.file(),
    canShare: sharing !== undefined && caller === undefined,
  })),
  share: procedures.house.share.handler(async ({ input, context }) => {
    await sharingOf(context).start(input)
    return { shared: true as const }
  }),
  unshare: procedures.house.unshare.handler(async ({ context }) => {
    await sharingOf(context).stop()
    return { shared: false as const }
  }),
}
