import type { WeighedGroup } from '#core/weight/weigh.ts'
import { count } from '#renderer/parts/format.ts'

/** How a weight was come by, where it is not the group's own line. */
export const sourceWords: Record<WeighedGroup['source'], string | null> = {
  line: null, estimate: 'estimated from the drive group', ticket: 'from the ticket', raised: 'raised: carries nothing',
}

/** A chance as a whole percentage that never says certain where it is not. */
export function chance(p: number): string {
  const percent = 100 * p
  if (percent < 1) return 'under 1\u00a0%'
  if (percent > 99) return 'over 99\u00a0%'
  return `${count(percent)}\u00a0%`
}

