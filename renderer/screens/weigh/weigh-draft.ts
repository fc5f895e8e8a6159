import type { Combination } from '#renderer/parts/combination-picker.tsx'

/** What is being typed on Weigh now. It outlives the window, so that a reading half typed is still there tomorrow. */
export interface WeighDraft extends Combination {
  /** As the lists of words have it; empty: not recorded. */
  readonly lift: string
  readonly elevation: string
  /** Local date and time as the field gives it; empty: now. */
  readonly takenAt: string
  readonly temperature: string
  readonly note: string
  /** As typed, by circuit. */
  readonly pressures: Readonly<Record<string, string>>
}

export const emptyDraft: WeighDraft = {
  lead: null,
  trailers: [],
  lift: '',
  elevation: '',
  takenAt: '',
  temperature: '',
  note: '',
  pressures: {},
}

export const circuitKey = (unit: string, group: string, circuit: string): string => `${unit}/${group}/${circuit}`
