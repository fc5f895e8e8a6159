import { procedures } from '#core/api/procedures.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { leaveOnDesk, readDesk } from '#core/store/desk.ts'

export const deskHandlers = {
  read: procedures.desk.read.handler(({ input, context }) =>
    context.fleet.use(async ({ db }) => ({ text: await readDesk(db, input.name) })),
  ),
  leave: procedures.desk.leave.handler(({ input: { name, text }, context }) =>
    context.fleet.use(async (store) => {
      await leaveOnDesk(store, name, text, toStoredInstant(Date.now()))
      return { left: text !== null }
    }),
  ),
}
