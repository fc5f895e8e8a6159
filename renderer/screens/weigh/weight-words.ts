import type { WeighedGroup } from '#core/weight/weigh.ts'

/** How a weight was come by, where it is not the group's own line. */
export const sourceWords: Record<WeighedGroup['source'], string | null> = {
  line: null,
  estimate: 'estimated from the drive group',
  ticket: 'from the ticket',
  raised: 'raised: carries nothing',
}
