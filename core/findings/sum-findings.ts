import type { CheckTrail } from '#core/evidence/follow-checks.ts'
import type { GroupHistory } from '#core/evidence/history.ts'
import { type SumOutcome, type SumTest, sumOutcome } from '#core/evidence/sum-tests.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

const sideOf = (missLb: number) => (missLb > 0 ? 'high' : 'low')

/** Several sums that lie off to one side: one of two lines has moved, and the sums cannot tell which. */
function moved(group: GroupHistory, { run, missLb, uMissLb }: SumOutcome, withGroup: string): Finding {
  const [first] = run as readonly [SumTest]
  const newest = run.at(-1) as SumTest
  return groupFinding(
    group,
    'checks-drifting',
    'together',
    { at: first.at, withGroup, missLb, uMissLb, weighings: run.length },
    {
      since: first.at,
      restsOn: `${first.readingId}/${sideOf(missLb)}/${run.length}/${group.events.length}`,
      ticketId: newest.ticketId,
      scaleId: newest.scaleId,
      numbers: { with_group: withGroup, checks: run.length, recent_miss_lb: missLb, u_miss_lb: uMissLb },
    },
  )
}

function missed(group: GroupHistory, { run, standing, missLb, uMissLb }: SumOutcome, withGroup: string): Finding {
  const [{ at, readingId, sumLb, chance, ticketId, scaleId }] = run as readonly [SumTest]
  const facts = { at, withGroup, sumLb, missLb }
  const told = {
    since: at,
    restsOn: `${readingId}/${sumLb}/${sideOf(missLb)}`,
    ticketId,
    scaleId,
    numbers: { with_group: withGroup, sum_lb: sumLb, miss_lb: missLb, u_miss_lb: uMissLb, z: missLb / uMissLb },
  }
  return standing === 'answered'
    ? groupFinding(group, 'check-missed', 'together answered', facts, { ...told, severity: 'note' })
    : groupFinding(group, 'check-missed', 'together', { ...facts, chancePercent: Math.ceil(100 * chance) }, told)
}

/**
 * What the weights of this group and another on one platform say of a line in use. Where its own checks have it moved
 * already, the sums say nothing more.
 */
export function sumFindings(
  group: GroupHistory,
  { standing }: CheckTrail,
  tests: readonly SumTest[],
  nameOf: (groupId: number) => string,
  { missConfidence }: HouseRules,
): Finding[] {
  if (standing === 'moved') return []
  return [...Map.groupBy(tests, ({ withGroupId }) => withGroupId)].flatMap(([withGroupId, own]) => {
    const outcome = sumOutcome(own, missConfidence)
    if (outcome.standing === 'holds') return []
    return [(outcome.standing === 'moved' ? moved : missed)(group, outcome, nameOf(withGroupId))]
  })
}
