import { helpersFor } from '#core/jobs/judge-in-threads.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { openStore } from '#core/store/open.ts'
import type { FleetWork } from '#core/words/touch.ts'

/**
 * Brings a fleet file up to today in a process of its own, so that its memory is its own, and writes as JSON how many
 * ms each work took: `node tests/bench/catch-up-apart.ts FILE`.
 */
const file = process.argv[2] ?? ''
const store = await openStore(file, { mustExist: true })
const took: Record<FleetWork, number> = { learn: 0, judge: 0, weigh: 0 }
let doing: FleetWork | undefined
let since = performance.now()
await catchUp(
  store,
  timeNow(),
  (work) => {
    const now = performance.now()
    if (doing) took[doing] += now - since
    doing = work
    since = now
  },
  helpersFor(file),
)
if (doing) took[doing] += performance.now() - since
await store.close()
console.log(JSON.stringify(took))
