/** One figure of the bench, with what it is measured against in the same run. */
export interface Measurement {
  readonly what: string
  readonly measured: string
  /** What the same work costs otherwise, measured a moment before or after; empty where nothing compares. */
  readonly baseline?: string
  /** Measured over baseline, or the other way where more is better: always "times as …". */
  readonly ratio?: string
  /** What is asked for, where something is. */
  readonly asked?: string
}

export interface Section {
  readonly title: string
  /** The baseline in a sentence. */
  readonly against: string
  measure(): Promise<readonly Measurement[]>
}
