/** What is asked of a figure, and how near it comes. */
export interface Goal {
  /** As people say it: `250 ms or less`. */
  readonly text: string
  /** The figure over what is asked, or the other way where more is better: up to 1 it is met. */
  readonly share: number
}

/** One figure of the bench, with what it is measured against in the same run. */
export interface Measurement {
  readonly what: string
  readonly measured: string
  /** What the same work costs otherwise, measured a moment before or after; empty where nothing compares. */
  readonly baseline?: string
  /** Measured over baseline, or the other way where more is better: always "times as …". */
  readonly ratio?: string
  readonly goal?: Goal
}

export interface Section {
  readonly title: string
  /** The baseline in a sentence. */
  readonly against: string
  measure(): Promise<readonly Measurement[]>
}

type Write = (value: number) => string

/** Asked is a figure of at most so much. */
export const atMost = (figure: number, asked: number, write: Write): Goal => ({
  text: `${write(asked)} or less`,
  share: asked === 0 ? (figure === 0 ? 0 : Number.POSITIVE_INFINITY) : figure / asked,
})

/** Asked is a figure of at least so much, which is above 0. */
export const atLeast = (figure: number, asked: number, write: Write): Goal => ({
  text: `${write(asked)} or more`,
  share: asked / figure,
})
