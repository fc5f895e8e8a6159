/** Two clocks that differ by less are taken for the same: a request takes its time, and clocks run apart. ms */
const differ = 2 * 60_000

/** By how much a sender's clock is ahead of the one that saves, ms; 0 where they are as good as one. Both ms UTC. */
export const clockAhead = (sender: number, own: number): number => (Math.abs(sender - own) < differ ? 0 : sender - own)
