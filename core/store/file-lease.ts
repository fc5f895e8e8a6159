import { phrase } from '#core/words/phrase.ts'
import { readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { hostname } from 'node:os'
import { resolve } from 'node:path'
import { z } from 'zod'
import { isRunning } from '#core/store/running.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'

const lease = z.object({ host: z.string().min(1), pid: z.number().int(), at: z.number() })
/** Which machine and process has a fleet file open, and when it last said so (ms UTC, by the machine's own clock). */
type Lease = z.infer<typeof lease>

/** It lies beside the file, as the log does, so that it goes wherever the file is seen from. */
export const leaseFile = (file: string): string => `${resolve(file)}-lease`

/** A lease is said anew so often, and believed for so long: clocks of two machines differ. */
const sayMs = 20_000
const believedMs = 120_000

/** Machines tell each other the time of their own clocks, whatever day the program is told that it is. */
const machineTime = (): number => Date.now()

/** One that cannot be read tells of nobody. */
function readLease(file: string): Lease | undefined {
  try {
    return lease.safeParse(JSON.parse(readFileSync(leaseFile(file), 'utf8'))).data
  } catch {
    return undefined
  }
}

function writeLease(file: string): void {
  const path = leaseFile(file)
  const unfinished = `${path}.${process.pid}`
  try {
    writeFileSync(
      unfinished,
      JSON.stringify({ host: hostname(), pid: process.pid, at: machineTime() } satisfies Lease),
      { mode: 0o600 },
    )
    renameSync(unfinished, path)
  } catch {
    // Where nothing can be written, as on a full disk, saves tell of that.
    rmSync(unfinished, { force: true })
  }
}

/**
 * Refuses a fleet file that another machine has open. One machine may have it open in several programs, which SQLite
 * keeps apart; of two machines neither sees the other's log. Errors: TarelineError `held-elsewhere`.
 */
export function refuseHeldElsewhere(file: string): void {
  const held = readLease(file)
  if (!held || held.host === hostname()) return
  const who = `${held.host} (process ${held.pid})`
  if (Math.abs(machineTime() - held.at) < believedMs)
    throw new TarelineError(
      'held-elsewhere',
      phrase('{file} is open on {who}. A fleet file is open on one machine at a time: end Tareline there first.', {
        file,
        who,
      }),
    )
  throw new TarelineError(
    'held-elsewhere',
    phrase(
      '{file} was left open on {who}, which was last heard of at {at}. Make sure that Tareline does not run there any more, then delete {lease} and open the file again.',
      { file, who, at: toStoredInstant(held.at), lease: leaseFile(file) },
    ),
  )
}

/** What says that this machine has a fleet file open. */
export interface HeldLease {
  /** Says so anew where that is due. Errors: TarelineError `held-elsewhere`, where another machine says so now. */
  beat(): void
  /** Takes it back, unless another program of this machine goes on with it. */
  release(): void
}

/** How often each file is held by this process. */
const holders = new Map<string, number>()

/** Says that this machine has a file open. Errors: TarelineError `held-elsewhere`. */
export function holdLease(name: string): HeldLease {
  const file = resolve(name)
  refuseHeldElsewhere(file)
  let saidAt = Number.NEGATIVE_INFINITY
  const say = () => {
    const held = readLease(file)
    saidAt = machineTime()
    // Another program of this machine that runs says so for both.
    const isSaid = held !== undefined && held.pid !== process.pid && isRunning(held.pid)
    if (!isSaid || saidAt - held.at > believedMs) writeLease(file)
  }
  holders.set(file, (holders.get(file) ?? 0) + 1)
  say()
  return {
    beat: () => {
      refuseHeldElsewhere(file)
      if (Math.abs(machineTime() - saidAt) >= sayMs) say()
    },
    release: () => {
      const left = (holders.get(file) ?? 1) - 1
      if (left > 0) {
        holders.set(file, left)
        return
      }
      holders.delete(file)
      const held = readLease(file)
      if (held?.host === hostname() && held.pid === process.pid) rmSync(leaseFile(file), { force: true })
    },
  }
}
