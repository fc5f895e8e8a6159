import { procedures } from '#core/api/procedures.ts'

export const houseHandlers = {
  facts: procedures.house.facts.handler(({ context: { house, fleet } }) => ({
    house: house?.facts() ?? null,
    file: fleet.file(),
  })),
}
