import type { GroupView } from '#core/api/contract.ts'

const axleWords: Record<number, string> = { 1: 'single axle', 2: 'tandem', 3: 'tridem' }

/** The axles of a group as the trade calls them. */
export const axleWord = (axles: number): string => axleWords[axles] ?? `${axles} axles`

/** The role, where the group's name does not already say it. */
export const roleWord = ({ name, role }: Pick<GroupView, 'name' | 'role'>): string =>
  name.toLowerCase().includes(role) ? '' : role

/** Why a group without a circuit has a weight all the same. */
export function measureSentence({ measuredBy }: Pick<GroupView, 'measuredBy'>): string {
  if (measuredBy === 'estimate') return 'No circuit: the weight of this group is estimated from another group.'
  if (measuredBy === 'ticket') return 'No circuit: the weight of this group is known from scale tickets only.'
  return 'No circuit is recorded for this group, so it has no calibration line.'
}
