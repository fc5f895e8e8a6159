import { assessGroup } from '#core/findings/assess-group.ts'
import type { AssessmentContext, GroupAssessment } from '#core/findings/assessment.ts'
import { estimatesFromRules, type FleetEstimates } from '#core/findings/evidence/estimates.ts'
import { familyFigures } from '#core/findings/evidence/family.ts'
import { fleetNoise } from '#core/findings/evidence/fleet-noise.ts'
import { type LineLife, lineLives } from '#core/findings/evidence/line-life.ts'
import { scaleEffects } from '#core/findings/evidence/scale-effects.ts'
import { type Finding, notDismissed } from '#core/findings/finding.ts'
import { scaleFindings } from '#core/findings/scale-findings.ts'
import { ticketFindings } from '#core/findings/ticket-findings.ts'
import type { FleetRecord } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'

export interface FleetAssessment {
  readonly groups: readonly GroupAssessment[]
  /** Findings about tickets and scales, not about one group. */
  readonly others: readonly Finding[]
  readonly estimates: FleetEstimates
}

/** Groups that teach what the fleet's scales and noise are like: all of a small fleet, an even choice of a large one. */
const mostTeachers = 1500

/** Leveling, wander and scales as the record tells them; families come later, from the lines fitted with these. */
function learn(record: FleetRecord, rules: HouseRules): FleetEstimates {
  const step = Math.max(1, Math.ceil(record.groups.length / mostTeachers))
  const teachers = record.groups.filter((_, i) => i % step === 0)
  const initial = estimatesFromRules(rules)
  const livesWith = (estimates: FleetEstimates) =>
    teachers.flatMap((history) => lineLives(history, { rules, scales: record.scales, estimates }).map((life) => ({ life, groupId: history.groupId })))
  const first = livesWith(initial)
  const groupOf = new Map(first.map(({ life, groupId }) => [life, groupId]))
  const scales = scaleEffects(first.map(({ life }) => life), (life) => groupOf.get(life) ?? 0)
  const second = scales.size === 0 ? first : livesWith({ ...initial, scales })
  return { ...initial, scales, ...fleetNoise(second.map(({ life }) => life), rules) }
}

interface Given {
  /** The fleet's estimates from an earlier judgement of the whole: with them a part is judged as within the whole. */
  readonly known?: FleetEstimates | undefined
  /** Marks of findings set aside, see `dismissalMark`. */
  readonly dismissed?: ReadonlySet<string>
}

/** Judges every sensed group of a record on a day, and its tickets and scales. */
export function assessFleet(record: FleetRecord, rules: HouseRules, asOf: number, { known, dismissed = new Set() }: Given = {}): FleetAssessment {
  const learnt = known ?? learn(record, rules)
  const lives = new Map<number, LineLife[]>()
  for (const history of record.groups) lives.set(history.groupId, lineLives(history, { rules, scales: record.scales, estimates: learnt }))
  const estimates = known ?? {
    ...learnt,
    families: familyFigures(record.groups.flatMap((group) => {
      const life = lives.get(group.groupId)?.at(-1)
      return life ? [{ group, line: life.line.fit }] : []
    })),
  }
  const context: AssessmentContext = {
    rules, asOf, estimates, dismissed, scales: record.scales, tickets: record.tickets, livesOf: (groupId) => lives.get(groupId),
  }
  const others: Finding[] = scaleFindings(record.scales, rules, estimates)
  for (const ticket of record.tickets.values()) others.push(...ticketFindings(ticket, context))
  return {
    groups: record.groups.map((history) => assessGroup(history, lives.get(history.groupId) ?? [], context)),
    others: notDismissed(others, dismissed),
    estimates,
  }
}
