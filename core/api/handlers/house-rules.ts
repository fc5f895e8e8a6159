import { afterFleetChange, freshJudgements } from '#core/api/freshen.ts'
import { onFleet } from '#core/api/on-fleet.ts'
import { procedures } from '#core/api/procedures.ts'
import { sheetHead, spreadsheetFile } from '#core/api/sheet-files.ts'
import type { ScaleList } from '#core/contracts/scales.ts'
import { scaleColumns } from '#core/exchange/documents/fleet-sheets.ts'
import { viewDismissals } from '#core/api/unit-view.ts'
import { estimatesFromRules } from '#core/evidence/estimates.ts'
import { scaleStandings } from '#core/evidence/scales/scale-standing.ts'
import { machineZone } from '#core/store/clock.ts'
import { tryRuleInThread } from '#core/jobs/in-thread.ts'
import { readFigures } from '#core/store/books.ts'
import { listDismissals } from '#core/store/dismissals.ts'
import { changeHouseRule, changeZone, readHouseRules, readMeasures } from '#core/store/house-rules.ts'
import { readScales } from '#core/store/histories.ts'
import { listScaleFindings, listScales } from '#core/store/roster.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { readZone } from '#core/store/zone.ts'
import {
  type HouseRuleName,
  type HouseRules,
  type RuleDefinition,
  houseRuleDefinitions,
  houseRuleNames,
  measuredRule,
} from '#core/words/house-rules.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { acceptedMeasure, amountText } from '#core/words/measures.ts'
import { TarelineError } from '#core/words/problem.ts'
import { sayOfRules } from '#core/words/say.ts'
import { sayFinding, saidOf } from '#core/words/sentences/findings.ts'
import { describeRange } from '#core/words/vocabulary.ts'
import { phrase } from '#core/words/phrase.ts'
import { figures } from '#core/words/numbers.ts'

const definitionOf = (name: HouseRuleName): RuleDefinition => houseRuleDefinitions[name]

const view = (rules: HouseRules) => {
  const { weight } = sayOfRules(rules)
  return houseRuleNames.map((name) => {
    const { label, unit, min, max, source, default: usual, choices = null, shownOnly = false } = definitionOf(name)
    const said = typeof source === 'string' ? source : source(weight)
    return { name, label, unit, value: rules[name], default: usual, min, max, source: said, choices, shownOnly }
  })
}

async function checkRange(
  db: Reader,
  { name, value }: { readonly name: HouseRuleName; readonly value: number },
): Promise<void> {
  const { label, min, max, unit, choices } = definitionOf(name)
  if (value >= min && value <= max && (choices === undefined || Number.isInteger(value))) return
  const measured = measuredRule(unit)
  const measure = measured && (await readMeasures(db))[measured.kind]
  const range = { min, max, unit }
  const [typed, accepted] = measure
    ? [amountText(value, measure), acceptedMeasure(range, measure)].map((text) => `${text}${measured.behind}`)
    : [`${figures()(value)} ${unit}`, describeRange(range)]
  throw new TarelineError(
    'out-of-range',
    phrase('{label}: {typed} is not accepted; {accepted} is.', { label, typed, accepted }),
  )
}

export const houseRulesHandlers = {
  list: procedures.houseRules.list.handler(onFleet(async ({ db }) => view(await readHouseRules(db)))),
  tryOut: procedures.houseRules.tryOut.handler(
    onFleet(async (store, input, { now, signal }) => {
      await checkRange(store.db, input)
      return tryRuleInThread(store.file, input, now, signal)
    }),
  ),
  change: procedures.houseRules.change.handler(
    onFleet(async (store, input, { now, report }) => {
      await checkRange(store.db, input)
      await store.db.transaction().execute((db) => changeHouseRule(db, input, input.by, toStoredInstant(now)))
      await afterFleetChange(store, now, report)
      return view(await readHouseRules(store.db))
    }),
  ),
  zone: procedures.houseRules.zone.handler(
    onFleet(async ({ db }) => ({ zone: await readZone(db), machine: machineZone() })),
  ),
  changeZone: procedures.houseRules.changeZone.handler(
    onFleet(async (store, input, { now: at, report }) => {
      await store.db.transaction().execute((db) => changeZone(db, input, input.by, toStoredInstant(at)))
      await afterFleetChange(store, at, report)
      return { zone: await readZone(store.db) }
    }),
  ),
}

/** Every scale with what it is and how far off it weighs, as judged at a moment (ms UTC). */
async function readScaleList(store: Store, asOf: number): Promise<ScaleList> {
  const { db } = store
  const rules = await readHouseRules(db)
  const say = sayOfRules(rules)
  const estimates = (await readFigures(db))?.figures.estimates ?? estimatesFromRules(rules)
  const found = new Map((await listScaleFindings(db)).map((finding) => [finding.scale_id, finding]))
  const { scales, crossCheck } = scaleStandings(readScales(store).values(), estimates, rules)
  const standings = new Map(scales.map((standing) => [standing.scaleId, standing]))
  const rows = await listScales(db)
  const names = new Map(rows.map(({ id, name }) => [id, name]))
  const nameOf = (id: number) => names.get(id) ?? ''
  return {
    asOf: toStoredInstant(asOf),
    scales: rows.flatMap(({ id, name, division_lb, tolerance_percent, elevation_ft, tickets }) => {
      const standing = standings.get(id)
      const finding = found.get(id)
      return standing
        ? [
            {
              scale: name,
              divisionLb: division_lb,
              tolerancePercent: tolerance_percent,
              elevationFt: elevation_ft,
              tickets,
              biasPercent: 100 * standing.gain,
              uPercent: 100 * standing.u,
              verdict: standing.verdict,
              tiedTo: standing.tiedTo.map(nameOf),
              weighings: standing.weighings,
              groups: standing.groups,
              since: standing.since === null ? null : toStoredInstant(standing.since),
              finding: finding ? { id: finding.id, ...sayFinding(saidOf(finding), say) } : null,
            },
          ]
        : []
    }),
    crossCheck: crossCheck && {
      scales: [nameOf(crossCheck.scaleIds[0]), nameOf(crossCheck.scaleIds[1])] as [string, string],
      uNowPercent: 100 * crossCheck.uNow,
      uAfterPercent: 100 * crossCheck.uAfter,
    },
    setAside: viewDismissals(await listDismissals(db, null), say),
    leveling: estimates.leveling,
    wander: estimates.wander,
  }
}

export const scalesHandlers = {
  list: procedures.scales.list.handler(
    onFleet(async (store, _, { now, report }) => readScaleList(store, await freshJudgements(store, now, report))),
  ),
  export: procedures.scales.export.handler(
    onFleet(async (store, _, { now, report }) => {
      const asOf = await freshJudgements(store, now, report)
      const { scales } = await readScaleList(store, asOf)
      return spreadsheetFile(store, scaleColumns, scales, await sheetHead(store, phrase('Scales'), asOf))
    }),
  ),
}
