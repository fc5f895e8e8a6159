import type { PlannedVisit } from '#core/bench/visits.ts'
import { benchItems, planWork } from '#core/bench/work.ts'
import { yardBenches } from '#core/bench/yard-bench.ts'
import { readStoredEvidence } from '#core/store/bench.ts'
import { readFleetCells } from '#core/store/cells.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { openStore } from '#core/store/open.ts'
import { scratchDatabase } from '#tests/bench/data.ts'
import { medianMs, milliseconds, seconds, times, whole } from '#tests/bench/figures.ts'
import { type Section, atMost } from '#tests/bench/section.ts'
import { insertSimulatedFleet } from '#tests/store/battery-store.ts'
import { type Condition, simulateFleet } from '#tests/unit/battery-fleet.ts'
import { sayStored } from '#core/words/say.ts'

const sensors = 25_000
const conditions: Condition[] = [60, 300, 900].flatMap((reportEveryS) =>
  ['CR2450', 'CR2477'].map((cell) => ({ cell, reportEveryS, lifeDays: 500 * (reportEveryS / 60) ** 0.4, share: 1 })),
)

export const shopBench: Section = {
  title: `The cells of ${whole(sensors)} sensors over four years, and the shop's work planned from them`,
  against: 'every sensor, mount and cell change read as they lie',
  measure: async () => {
    const fleet = simulateFleet({
      seed: 1,
      sensors,
      shape: 3,
      conditions,
      scheduledShare: 0.4,
      scheduledAt: [0.5, 0.9],
      days: 1461,
    })
    const { file, remove } = scratchDatabase('shop-bench')
    const store = await openStore(file)
    try {
      insertSimulatedFleet(store, fleet)
      // A line that runs out for every group, so that recalibrations are planned too.
      store.raw.exec(
        "insert into group_standing (group_id, unit_id, trust, due_on) select id, unit_id, 'due soon', date('2026-01-01', (id % 365) || ' days') from axle_group",
      )
      const rules = await readHouseRules(store.db)
      const floor = await medianMs(5, () =>
        ['sensor', 'mount', 'battery_change'].map((table) => store.raw.prepare(`select * from ${table}`).all()),
      )
      const judged = await medianMs(5, () => readFleetCells(store, rules, fleet.asOf))
      const plan = (planned: readonly PlannedVisit[] = []) =>
        planWork(
          benchItems(
            { ...readStoredEvidence(store), cells: readFleetCells(store, rules, fleet.asOf).mounted },
            rules,
            fleet.asOf,
            sayStored('UTC'),
          ),
          planned,
          yardBenches(new Map(), rules),
          rules,
          fleet.asOf,
          rules.benchHorizonDays,
        )
      const { visits, firstDay } = plan()
      const planned = await medianMs(5, () => plan())
      const visitsPlanned = Array.from(
        { length: 2000 },
        (_, i): PlannedVisit => ({ unitId: 1 + i * 3, day: firstDay + (i % 28), yardId: null }),
      )
      const around = await medianMs(5, () => plan(visitsPlanned))
      return [
        {
          what: `cells of ${whole(sensors)} sensors read and judged`,
          measured: milliseconds(judged),
          baseline: milliseconds(floor),
          ratio: `${times(judged / floor)} as long`,
        },
        {
          what: `the same planned with recalibrations, ${whole(visits.length)} visits`,
          measured: milliseconds(planned),
          baseline: milliseconds(floor),
          ratio: `${times(planned / floor)} as long`,
          goal: atMost(planned, 2000, seconds),
        },
        {
          what: `the same around ${whole(visitsPlanned.length)} visits planned beforehand`,
          measured: milliseconds(around),
          baseline: milliseconds(floor),
          ratio: `${times(around / floor)} as long`,
          goal: atMost(around, 2000, seconds),
        },
      ]
    } finally {
      await store.close()
      remove()
    }
  },
}
