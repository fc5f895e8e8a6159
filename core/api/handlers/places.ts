import { procedures } from '#core/api/procedures.ts'

export const placesHandlers = {
  list: procedures.places.list.handler(async ({ context: { places } }) => ({
    folders: await places.list(),
    byPicking: places.byPicking,
  })),
  allow: procedures.places.allow.handler(({ input, context: { places } }) => places.allow(input.folder)),
  pick: procedures.places.pick.handler(({ input, context: { places } }) => places.pick(input.startAt)),
  takeBack: procedures.places.takeBack.handler(async ({ input, context: { places } }) => {
    await places.takeBack(input.folder)
    return { takenBack: true as const }
  }),
}
