import { procedures } from '#core/api/procedures.ts'
import { freshAssessment } from '#core/api/freshen.ts'
import { cabCardsInThread } from '#core/exchange/bring-in.ts'
import { makeCabCards } from '#core/exchange/cab-cards.ts'
import { dayOf } from '#core/fleet/instant.ts'

/** More cards than these keep the procedures waiting for longer than a thread takes to start. */
const fewCards = 20

export const cabCardHandlers = {
  make: procedures.cabCard.make.handler(({ input, context }) =>
    context.fleet.use(async (store) => {
      const now = Date.now()
      await freshAssessment(store, now, context.report)
      const units = [...new Set(input.units)]
      const name =
        units.length === 1 ? `cab-card-${units[0]?.toLowerCase().replaceAll(/[^a-z0-9]+/g, '-')}` : 'cab-cards'
      const pages =
        units.length <= fewCards
          ? await makeCabCards(store, units, now)
          : await cabCardsInThread(store.file, units, now)
      return new File([pages], `${name}-${dayOf(now)}.pdf`, { type: 'application/pdf' })
    }),
  ),
}
