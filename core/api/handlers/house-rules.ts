import { procedures } from '#core/api/procedures.ts'
import { assessInThread } from '#core/exchange/bring-in.ts'
import { houseRuleDefinitions, houseRuleNames, type HouseRules } from '#core/fleet/house-rules.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { changeHouseRule, readHouseRules } from '#core/store/house-rules.ts'

const view = (rules: HouseRules) => houseRuleNames.map((name) => {
  const { label, unit, min, max, source, default: usual } = houseRuleDefinitions[name]
  return { name, label, unit, value: rules[name], default: usual, min, max, source }
})

export const houseRulesHandlers = {
  list: procedures.houseRules.list.handler(({ context }) => context.fleet.use(async ({ db }) => view(await readHouseRules(db)))),
  change: procedures.houseRules.change.handler(({ input, context }) => context.fleet.use(async (store) => {
    const { label, min, max, unit } = houseRuleDefinitions[input.name]
    if (!(input.value >= min && input.value <= max)) {
      throw new TarelineError('out-of-range', `${label}: ${input.value} ${unit} is not accepted; ${min} to ${max} ${unit} is.`)
    }
    const now = Date.now()
    await store.db.transaction().execute((db) => changeHouseRule(db, input, input.by, toStoredInstant(now)))
    await assessInThread(store.file, now)
    return view(await readHouseRules(store.db))
  })),
}
