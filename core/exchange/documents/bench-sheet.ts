/** One thing to do, as the shop's documents say it. Days are YYYY-MM-DD. */
export interface SheetItem {
  /** Of the evidence behind it: the same until the work is done. */
  readonly id: string
  readonly kind: 'cell' | 'recalibration' | 'repair'
  readonly what: string
  readonly group: string | null
  readonly circuit: string | null
  readonly serial: string | null
  readonly cell: string | null
  readonly dueOn: string
  readonly minutes: number
}

/** One visit of one unit, as the shop's documents list it: by yard, then day. */
export interface SheetVisit {
  readonly yard: string | null
  readonly unit: string
  readonly day: string
  readonly untilDay: string
  readonly dueOn: string
  readonly minutes: number
  readonly plannedOn: string | null
  readonly lateDays: number
  readonly items: readonly SheetItem[]
}

export const seatOf = ({ group, circuit }: Pick<SheetItem, 'group' | 'circuit'>): string =>
  [group, circuit].filter((name) => name !== null).join(' ')
