import type { BenchCostView, BenchLivesView, BenchOrderView, BenchPlanView } from '#core/contracts/bench.ts'
import { benchNow, planNow } from '#core/jobs/bench-now.ts'
import { viewOrder } from '#core/jobs/bench-order.ts'
import { type OwnWork, type PlanAsked, viewCost, viewLives, viewPlan, viewUnitWork } from '#core/jobs/bench-view.ts'
import { yardNames } from '#core/store/bench.ts'
import { readCellPrices, readCellStock } from '#core/store/cell-stock.ts'
import type { Store } from '#core/store/open.ts'
import type { LocalMonth } from '#core/words/day.ts'

/** What is asked of the shop's bench, by what it is about. */
export interface BenchQuestions {
  readonly plan: PlanAsked
  readonly unit: { readonly unitId: number }
  readonly lives: Readonly<Record<string, never>>
  readonly cost: Readonly<Record<string, never>>
  readonly order: { readonly through?: LocalMonth | undefined }
}
export type BenchSubject = keyof BenchQuestions

export interface BenchAnswers {
  readonly plan: BenchPlanView
  readonly unit: OwnWork
  readonly lives: BenchLivesView
  readonly cost: BenchCostView
  readonly order: BenchOrderView
}

const answers: {
  readonly [About in BenchSubject]: (
    store: Store,
    asked: BenchQuestions[About],
    now: number,
  ) => Promise<BenchAnswers[About]>
} = {
  plan: async (store, asked, now) =>
    viewPlan(await planNow(store, now, asked.days), asked, now, await yardNames(store.db)),
  unit: async (store, { unitId }, now) => viewUnitWork(await planNow(store, now), unitId),
  lives: async (store, _, now) => viewLives(await benchNow(store, now)),
  cost: async (store, _, now) => viewCost(await benchNow(store, now), await readCellPrices(store.db)),
  order: async (store, { through }, now) =>
    viewOrder(
      await planNow(store, now),
      {
        stock: await readCellStock(store.db),
        prices: await readCellPrices(store.db),
        yards: await yardNames(store.db),
      },
      now,
      through,
    ),
}

/** Answers a question to the bench from an open file (now: ms UTC); of a large fleet it takes seconds. */
export const answerBench = <About extends BenchSubject>(
  store: Store,
  about: About,
  asked: BenchQuestions[About],
  now: number,
): Promise<BenchAnswers[About]> => answers[about](store, asked, now)
