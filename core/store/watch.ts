/** Told after each stretch of long work which share of it is done, 0 to 1; throws where the work is to end. */
export type Watch = (share: number) => void
