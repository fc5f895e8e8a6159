import { procedures } from '#core/api/procedures.ts'
import { assessInThread, tryRuleInThread } from '#core/exchange/bring-in.ts'
import {
  houseRuleDefinitions,
  type HouseRuleName,
  houseRuleNames,
  type HouseRules,
  type RuleDefinition,
} from '#core/fleet/house-rules.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { changeHouseRule, readHouseRules } from '#core/store/house-rules.ts'

const definitionOf = (name: HouseRuleName): RuleDefinition => houseRuleDefinitions[name]

const view = (rules: HouseRules) =>
  houseRuleNames.map((name) => {
    const { label, unit, min, max, source, default: usual, choices = null, shownOnly = false } = definitionOf(name)
    return { name, label, unit, value: rules[name], default: usual, min, max, source, choices, shownOnly }
  })

function checkRange({ name, value }: { readonly name: HouseRuleName; readonly value: number }): void {
  const { label, min, max, unit, choices } = definitionOf(name)
  if (value >= min && value <= max && (choices === undefined || Number.isInteger(value))) return
  throw new TarelineError('out-of-range', `${label}: ${value} ${unit} is not accepted; ${min} to ${max} ${unit} is.`)
}

export const houseRulesHandlers = {
  list: procedures.houseRules.list.handler(({ context }) =>
    context.fleet.use(async ({ db }) => view(await readHouseRules(db))),
  ),
  tryOut: procedures.houseRules.tryOut.handler(({ input, context, signal }) =>
    context.fleet.use((store) => {
      checkRange(input)
      return tryRuleInThread(store.file, input, Date.now(), signal)
    }),
  ),
  change: procedures.houseRules.change.handler(({ input, context }) =>
    context.fleet.use(async (store) => {
      checkRange(input)
      const now = Date.now()
      await store.db.transaction().execute((db) => changeHouseRule(db, input, input.by, toStoredInstant(now)))
      if (definitionOf(input.name).shownOnly !== true) await assessInThread(store.file, now)
      return view(await readHouseRules(store.db))
    }),
  ),
}
