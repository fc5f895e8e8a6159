import { setImmediate } from 'node:timers/promises'
import type { FindingCode, Trust } from '#core/findings/finding.ts'
import { type JudgementTally, type RuleEffect, compareJudgements, countFindings } from '#core/findings/rule-effect.ts'
import { judgeStore } from '#core/store/assessment.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { areJudgementsOf, readBooks } from '#core/store/books.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import type { HouseRuleName, HouseRules } from '#core/words/house-rules.ts'

/** Groups judged between two looks at the signal: a few milliseconds. */
const groupsAtOnce = 200

async function tallyUnder(store: Store, rules: HouseRules, asOf: number, signal: AbortSignal): Promise<JudgementTally> {
  const { groups, others } = await judgeStore(store, asOf, rules)
  const trusts = new Map<number, Trust>()
  const findings = countFindings(others)
  for (const group of groups) {
    trusts.set(group.history.groupId, group.trust)
    countFindings(group.findings, findings)
    if (trusts.size % groupsAtOnce !== 0) continue
    await setImmediate()
    signal.throwIfAborted()
  }
  return { trusts, findings }
}

/** The stored outcome, which spares a judgement. */
async function storedTally({ db }: Store): Promise<JudgementTally> {
  const standings = await db.selectFrom('group_standing').select(['group_id', 'trust']).execute()
  const findings = await db
    .selectFrom('finding')
    .select(['code', ({ fn }) => fn.countAll<number>().as('findings')])
    .groupBy('code')
    .execute()
  return {
    trusts: new Map(standings.map(({ group_id, trust }) => [group_id, trust])),
    findings: new Map(findings.map(({ code, findings: number }) => [code as FindingCode, number])),
  }
}

/**
 * What a rule's change would do: the fleet is judged on a day (ms UTC) as if the rule had another value, and nothing is
 * stored. Takes seconds for a large fleet: for a thread. Errors: the signal's reason.
 */
export async function tryRule(
  store: Store,
  name: HouseRuleName,
  value: number,
  asOf: number,
  signal: AbortSignal,
): Promise<RuleEffect> {
  const rules = await readHouseRules(store.db)
  const at = judgedAt(asOf, rules.zone)
  const before = areJudgementsOf(await readBooks(store.db), asOf)
    ? await storedTally(store)
    : await tallyUnder(store, rules, at, signal)
  return compareJudgements(before, await tallyUnder(store, { ...rules, [name]: value }, at, signal))
}
