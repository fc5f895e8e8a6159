/** A job for one bench: how many of its minutes it takes, and the bench minute by which it must be done. */
export interface Job {
  readonly minutes: number
  readonly deadline: number
}

/** A heap of job numbers with the longest job on top; of two equally long ones the later deadline. */
class Longest {
  readonly #heap: number[] = []
  readonly #jobs: readonly Job[]

  constructor(jobs: readonly Job[]) {
    this.#jobs = jobs
  }

  #above(p: number, q: number): boolean {
    return (
      (this.#jobs[p] as Job).minutes - (this.#jobs[q] as Job).minutes > 0 ||
      ((this.#jobs[p] as Job).minutes === (this.#jobs[q] as Job).minutes && p > q)
    )
  }

  push(job: number): void {
    const heap = this.#heap
    heap.push(job)
    for (let i = heap.length - 1; i > 0; ) {
      const parent = (i - 1) >> 1
      if (!this.#above(heap[i] as number, heap[parent] as number)) return
      this.#swap(i, parent)
      i = parent
    }
  }

  pop(): number {
    const heap = this.#heap
    const top = heap[0] as number
    const last = heap.pop() as number
    if (heap.length === 0) return top
    heap[0] = last
    for (let i = 0; ; ) {
      let child = 2 * i + 1
      if (child >= heap.length) return top
      if (child + 1 < heap.length && this.#above(heap[child + 1] as number, heap[child] as number)) child += 1
      if (!this.#above(heap[child] as number, heap[i] as number)) return top
      this.#swap(i, child)
      i = child
    }
  }

  #swap(i: number, j: number): void {
    const kept = this.#heap[i] as number
    this.#heap[i] = this.#heap[j] as number
    this.#heap[j] = kept
  }
}

/**
 * The order in which one bench does its jobs (numbers into `jobs`, which come by rising deadline) so that as few as
 * possible are late: none, whenever any order gets all done in time.
 *
 * Jobs on time: by deadline, dropping the longest whenever one would be late (Moore's algorithm with Hodgson's rule:
 * the least number of late jobs on one machine, all available from the start). With nothing to drop this is earliest
 * due date first (Jackson's rule), which meets all deadlines if any order does. The late ones are put in, by deadline,
 * as early as the others' slack allows.
 *
 * minutes more than 0, deadlines in the same bench minutes, below 0 or 0: cannot be met. O(n log n).
 * Source: Moore, Management Science 15 (1968) 102; Jackson (1955), as in Pinedo, Scheduling (from memory).
 */
export function fewestLate(jobs: readonly Job[]): { order: number[]; late: ReadonlySet<number> } {
  const late = new Set<number>()
  const kept = new Longest(jobs)
  let total = 0
  jobs.forEach(({ minutes, deadline }, job) => {
    kept.push(job)
    total += minutes
    if (total > deadline) {
      const dropped = kept.pop()
      late.add(dropped)
      total -= (jobs[dropped] as Job).minutes
    }
  })

  const inTime = jobs.flatMap((_, job) => (late.has(job) ? [] : [job]))
  // How much may be put in front of each without making it or any after it late.
  const slack = new Float64Array(inTime.length)
  let done = total
  let least = Number.POSITIVE_INFINITY
  for (let i = inTime.length - 1; i >= 0; i -= 1) {
    const { minutes, deadline } = jobs[inTime[i] as number] as Job
    least = Math.min(least, deadline - done)
    slack[i] = least
    done -= minutes
  }
  const waiting = [...late].sort((p, q) => p - q)
  const order: number[] = []
  let next = 0
  let inserted = 0
  inTime.forEach((job, i) => {
    while (next < waiting.length) {
      const { minutes } = jobs[waiting[next] as number] as Job
      if (inserted + minutes > (slack[i] as number)) break
      order.push(waiting[next] as number)
      inserted += minutes
      next += 1
    }
    order.push(job)
  })
  return { order: [...order, ...waiting.slice(next)], late }
}
