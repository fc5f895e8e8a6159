import { basename } from 'node:path'
import { type CabCard, cabCardDefinition } from '#core/exchange/documents/cab-card.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import { dayOf } from '#core/fleet/instant.ts'
import { atmosphericPsi } from '#core/line/atmosphere.ts'
import { listCardUnits, readStandings } from '#core/store/cab-cards.ts'
import type { Store } from '#core/store/open.ts'
import { readWeighFacts } from '#core/store/weigh-facts.ts'
import { cabGroups } from '#core/weight/cab-card.ts'
import { weigher } from '#core/weight/weigher.ts'
import { noSuchUnit } from '#core/store/unit-sheet.ts'

/** The cards of units as they are at a time (ms UTC), by unit number. Errors: TarelineError `no-such-unit`. */
async function readCabCards(
  store: Store,
  numbers: readonly string[],
  at: number,
): Promise<{ cards: CabCard[]; confidencePercent: number }> {
  const units = await listCardUnits(store.db, numbers)
  const missing = numbers.find((number) => !units.some((unit) => unit.number === number))
  if (missing !== undefined) throw noSuchUnit(missing)
  const unitIds = units.map(({ id }) => id)
  const facts = await readWeighFacts(store, { unitIds, tare: false })
  const standings = await readStandings(store.db, unitIds)
  const fleet = weigher(facts)
  const cards = units.map(
    ({ id, number, kind, make, model, model_year, gross_limit_lb, yard, yard_ft }): CabCard => ({
      unit: number,
      kind,
      about: [make, model, model_year].filter((part) => part !== null).join(' '),
      yard,
      yardFt: yard_ft,
      yardAirPsi: yard_ft === null ? null : atmosphericPsi(yard_ft),
      grossLimitLb: gross_limit_lb,
      groups: cabGroups(fleet.ready([id]), at),
      standings,
    }),
  )
  return { cards, confidencePercent: facts.rules.verdictConfidencePercent }
}

/** The cab cards of units as one PDF, a page a unit. Errors: TarelineError `no-such-unit`. */
export async function makeCabCards(
  store: Store,
  numbers: readonly string[],
  at: number,
): Promise<Uint8Array<ArrayBuffer>> {
  const { cards, confidencePercent } = await readCabCards(store, numbers, at)
  return makePdf(cabCardDefinition(cards, { asOf: dayOf(at), file: basename(store.file), confidencePercent }))
}
