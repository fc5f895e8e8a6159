import { speechTag } from '#core/words/catalogues.ts'
import { speech } from '#core/words/phrase.ts'
import { statSync } from 'node:fs'
import { type BenchItem, type PlannedWork, benchItems, planWork } from '#core/bench/work.ts'
import type { FleetCells } from '#core/cells/fleet-cells.ts'
import type { LifeCondition } from '#core/cells/life-model.ts'
import { yardBenches } from '#core/bench/yard-bench.ts'
import { readStoredEvidence, readYardDays } from '#core/store/bench.ts'
import { readFleetCells } from '#core/store/cells.ts'
import { readBooks, readFigures } from '#core/store/books.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { listPlannedVisits } from '#core/store/visits.ts'
import { dayNumber, dayOf, storedDay } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { sayOfRules } from '#core/words/say.ts'

/** Conditions for which faster intervals are worked out: the commonest of the fleet. */
const mostConditions = 12
/** How much faster: half and a quarter of the interval. */
const faster = [2, 4] as const

export interface CommonCondition {
  readonly condition: LifeCondition
  readonly sensors: number
  readonly faster: readonly LifeCondition[]
}

/** The commonest conditions of cells in service, with faster intervals of each. */
export function commonConditions(used: readonly LifeCondition[]): CommonCondition[] {
  const counted = new Map<string, { condition: LifeCondition; sensors: number }>()
  for (const { cell, reportEveryS } of used) {
    const key = `${cell ?? ''} ${reportEveryS ?? ''}`
    const known = counted.get(key) ?? { condition: { cell, reportEveryS }, sensors: 0 }
    known.sensors += 1
    counted.set(key, known)
  }
  return [...counted.values()]
    .sort((p, q) => q.sensors - p.sensors)
    .slice(0, mostConditions)
    .map(({ condition, sensors }) => {
      const { cell, reportEveryS } = condition
      return {
        condition,
        sensors,
        faster:
          reportEveryS === null
            ? []
            : faster.map((times) => ({ cell, reportEveryS: Math.max(1, reportEveryS / times) })),
      }
    })
}

export interface BenchNow {
  readonly rules: HouseRules
  readonly cells: FleetCells
  readonly items: readonly BenchItem[]
  /** Groups of units in service. */
  readonly groups: number
}

let kept: { readonly mark: string; readonly now: Promise<BenchNow> } | undefined

async function look(store: Store, rules: HouseRules, asOf: number): Promise<BenchNow> {
  const figures = (await readFigures(store.db))?.figures
  const cells = readFleetCells(store, rules, asOf, {
    laws: figures?.cellLaws,
    heardUntil: figures?.heardUntil,
    alsoFor: (used) => commonConditions(used).flatMap((common) => common.faster),
  })
  const evidence = readStoredEvidence(store)
  return {
    rules,
    cells,
    items: benchItems({ ...evidence, cells: cells.mounted }, rules, asOf, sayOfRules(rules)),
    groups: evidence.places.size,
  }
}

/**
 * Where the fleet's cells and the shop's work stand today; looked at once a day and change of the record, since it
 * takes a second for a large fleet, in a thread that opens the file for each question.
 */
export async function benchNow(store: Store, asOf: number): Promise<BenchNow> {
  const { linesRevision, cellsRevision, renewals, judgedFor, linesCurrent, zone } = await readBooks(store.db)
  const rules = await readHouseRules(store.db)
  const judged = [linesRevision, cellsRevision, renewals, judgedFor, linesCurrent]
  // A copy that takes the file's place may have come to the same counts another way.
  const place = [store.file, statSync(store.file).ino]
  // What is to be done is said in the measures in use, and to whoever asks, which change no line.
  const mark = JSON.stringify([...place, ...judged, dayOf(asOf, zone), rules.measures, speechTag(speech())])
  if (kept?.mark === mark) return kept.now
  const looked = { mark, now: look(store, rules, asOf) }
  kept = looked
  looked.now.catch(() => {
    if (kept === looked) kept = undefined
  })
  return looked.now
}

export interface PlanNow extends BenchNow {
  readonly plan: PlannedWork
  readonly planned: Awaited<ReturnType<typeof listPlannedVisits>>
}

/** Today's plan of so many days; the House Rules' where they are left out. */
export async function planNow(store: Store, asOf: number, days?: number): Promise<PlanNow> {
  const now = await benchNow(store, asOf)
  const planned = await listPlannedVisits(store.db, dayOf(asOf, now.rules.zone))
  const visits = planned.map((row) => ({
    unitId: row.unit_id,
    yardId: row.yard_id,
    day: dayNumber(storedDay(row.visit_on)),
  }))
  const benches = yardBenches(await readYardDays(store.db), now.rules)
  const plan = planWork(now.items, visits, benches, now.rules, asOf, days ?? now.rules.benchHorizonDays)
  return { ...now, planned, plan }
}
