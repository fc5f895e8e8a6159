import { nextDue, sayDue } from '#core/findings/next-due.ts'
import type { Trust } from '#core/findings/finding.ts'
import { basename } from 'node:path'
import type { Content, TDocumentDefinitions, TableCell } from 'pdfmake/interfaces.js'
import { cautions } from '#core/bench/steps.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import { rule, quiet, ink, boxed, printedPage } from '#core/exchange/documents/printed-page.ts'
import type { Store } from '#core/store/open.ts'
import { listCardUnits, noSuchUnit, readStandings } from '#core/store/unit-sheet.ts'
import { readWeighSource } from '#core/store/weigh-facts.ts'
import { readZone } from '#core/store/zone.ts'
import { type CabGroup, type CabTable, cabGroups } from '#core/weight/cab-card.ts'
import type { Verdict } from '#core/weight/verdict.ts'
import { weigher } from '#core/weight/weigher.ts'
import { type LocalDay, dayOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { type Say, sayOfRules } from '#core/words/say.ts'
import { howToRead, readingConditions } from '#core/words/sentences/cab-card.ts'
import { sayNoLoad } from '#core/words/sentences/load-to.ts'
import { provisionalWords } from '#core/words/sentences/two-weights.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase, phraseLater, spoken } from '#core/words/phrase.ts'

/** One unit's card. */
export interface CabCard {
  readonly unit: string
  readonly kind: string
  /** Make, model and year as far as they are known. */
  readonly about: string
  readonly yard: string | null
  readonly yardFt: number | null
  /** Air pressure at the yard, psi; null where its elevation is not known. */
  readonly yardAirPsi: number | null
  readonly grossLimitLb: number | null
  readonly groups: readonly CabGroup[]
  /** By group: trust in its line and the day it is due. */
  readonly standings: ReadonlyMap<number, { readonly trust: Trust; readonly dueOn: string | null }>
}

export interface CabCardHead {
  /** The day on which it is printed. */
  readonly asOf: LocalDay
  readonly file: string
  readonly confidencePercent: number
  /** In the fleet's measures and days. */
  readonly say: Say
}

const shade = '#eceff1'

/** A verdict as a word and a mark, readable without colour. */
const marks: Readonly<Record<Verdict, string>> = spoken({
  under: '',
  'too close to call': phraseLater('close'),
  over: phraseLater('OVER'),
})

/** How large a table is printed by how many stand beside it: a lone one in two halves. */
interface TableSize {
  readonly parts: number
  readonly fontSize: number
}
const sizeOf = (abreast: number): TableSize =>
  abreast === 1 ? { parts: 2, fontSize: 12 } : { parts: 1, fontSize: abreast === 2 ? 9.5 : 8 }

function tableOf({ steps, steer }: CabTable, { parts, fontSize }: TableSize, say: Say): Content {
  const length = Math.ceil(steps.length / parts)
  const halves = Array.from({ length: parts }, (_, i) =>
    partOf(
      steps.slice(i * length, (i + 1) * length),
      steer && { ...steer, weightsLb: steer.weightsLb.slice(i * length, (i + 1) * length) },
      fontSize,
      say,
    ),
  )
  return parts === 1 ? (halves[0] as Content) : { columns: halves, columnGap: 12 }
}

function partOf(steps: CabTable['steps'], steer: CabTable['steer'], fontSize: number, say: Say): Content {
  const { pressure, weight } = say.measures
  const head: TableCell[] = [
    pressure.symbol,
    weight.symbol,
    `± ${weight.symbol}`,
    ...(steer ? [`${steer.group} ${weight.symbol}`] : []),
    '',
  ].map((text, i) => ({
    text,
    bold: true,
    alignment: i === 0 ? ('left' as const) : ('right' as const),
  }))
  const rows = steps.map(({ psi, weightLb, uLb, verdict }, i): TableCell[] => {
    const fill = verdict === 'under' ? {} : { fillColor: shade }
    const bold = verdict === 'over'
    const cell = (text: string): TableCell => ({ text, alignment: 'right', bold, ...fill })
    const estimate = steer?.weightsLb[i]
    return [
      { text: say.stepFigure(psi), bold: true, ...fill },
      cell(say.weightFigure(weightLb)),
      cell(say.plusMinusFigure(uLb)),
      ...(estimate ? [cell(say.weightFigure(estimate.weightLb))] : []),
      cell(marks[verdict]),
    ]
  })
  return {
    table: {
      headerRows: 1,
      widths: (steer ? [2.6, 5, 3.6, 5, 3.8] : [2.6, 5, 3.6, 3.8]).map((ems) => ems * fontSize),
      body: [head, ...rows],
    },
    layout: {
      hLineWidth: (i) => (i === 1 ? 0.8 : i % 5 === 1 ? 0.5 : 0.15),
      vLineWidth: () => 0,
      hLineColor: () => rule,
      paddingLeft: () => 2,
      paddingRight: () => 2,
      paddingTop: () => 0.6,
      paddingBottom: () => 0.6,
    },
    fontSize,
  }
}

function facts(
  group: CabGroup,
  table: CabTable,
  { standings }: CabCard,
  { confidencePercent, say }: CabCardHead,
  { parts }: TableSize,
): Content {
  const standing = standings.get(group.groupId)
  const due = standing === undefined ? null : nextDue(standing.trust, standing.dueOn)
  const lines: Content[] = [
    {
      text: [
        { text: phrase('Limit '), color: quiet },
        { text: say.ticket(table.limitLb), bold: true },
      ],
    },
    'why' in table.loadTo
      ? { text: sayNoLoad(table.loadTo.why, say), bold: true }
      : {
          text: [
            { text: phrase('Load to at most '), color: quiet },
            { text: say.loadTo(table.loadTo.psi), bold: true, fontSize: parts > 1 ? 20 : 15 },
          ],
        },
    {
      text:
        'why' in table.loadTo
          ? phrase('A weight at the limit is good to {uLimitLb} (95 %).', { uLimitLb: say.plusMinus(table.uLimitLb) })
          : phrase(
              'Under the limit with {confidencePercent} % confidence up to there; a weight at the limit is good to {uLimitLb} (95 %).',
              { confidencePercent, uLimitLb: say.plusMinus(table.uLimitLb) },
            ),
      color: quiet,
    },
    ...(table.isProvisional ? [{ text: `${group.group}: ${provisionalWords()}.`, bold: true }] : []),
    {
      text: [
        phrase('Calibrated {calibratedAt}', { calibratedAt: say.day(table.calibratedAt) }),
        ...(due === null ? [] : [phrase('due {due}', { due: sayDue(due) })]),
        ...(standing && standing.trust !== 'sound' ? [word(standing.trust)] : []),
      ].join(' · '),
    },
  ]
  const { lift, gauges } = howToRead(table)
  if (lift !== null) lines.push({ text: lift, bold: true })
  lines.push(...gauges.map((text): Content => ({ text })))
  if (table.steer)
    lines.push({
      text: phrase('{group}: estimated from this group, limit {limitLb}, good to {max}.', {
        group: table.steer.group,
        limitLb: say.ticket(table.steer.limitLb),
        max: say.plusMinus(Math.max(...table.steer.weightsLb.map(({ uLb }) => uLb))),
      }),
      color: quiet,
    })
  return {
    stack: lines.map((line) => ({ stack: [line], margin: [0, 0, 0, 1.5] })),
    fontSize: parts > 1 ? 10 : 8.5,
    margin: [0, 2, 0, 6],
  }
}

const titleOf = ({ group, axles }: CabGroup, table: CabTable | undefined): string =>
  phrase('{group} ({axles, plural, one {# axle} other {# axles}}){table}', {
    group,
    axles,
    table: table && table.lift !== null ? phrase(', lift axle {lift}', { lift: word(table.lift) }) : '',
  })

function blocksOf(group: CabGroup, card: CabCard, head: CabCardHead, size: TableSize): Content[] {
  return group.tables.map(
    (table): Content => ({
      stack: [
        { text: titleOf(group, table), style: 'heading' },
        facts(group, table, card, head, size),
        tableOf(table, size, head.say),
      ],
    }),
  )
}

/** Columns on a page: more tables than that go below each other in a second row. */
const mostAbreast = 3

function cardOf(card: CabCard, head: CabCardHead, isFirst: boolean): Content {
  const size = sizeOf(
    Math.min(
      mostAbreast,
      card.groups.reduce((sum, { tables }) => sum + tables.length, 0),
    ),
  )
  const blocks = card.groups.flatMap((group) => blocksOf(group, card, head, size))
  const { say } = head
  const without = card.groups.filter(({ why }) => why !== null)
  const rows: Content[] = []
  for (let i = 0; i < blocks.length; i += mostAbreast) {
    const abreast = blocks.slice(i, i + mostAbreast)
    rows.push({
      columns: [
        ...abreast,
        ...Array.from({ length: Math.min(mostAbreast, blocks.length) - abreast.length }, (): Content => ({ text: '' })),
      ],
      columnGap: 18,
      margin: [0, 8, 0, 0],
    })
  }
  const about = [
    card.about,
    card.yard === null ? '' : phrase('yard {yard}', { yard: card.yard }),
    card.grossLimitLb === null
      ? ''
      : phrase('gross limit {grossLimitLb}', { grossLimitLb: say.ticket(card.grossLimitLb) }),
  ].filter((part) => part !== '')
  const absolute = card.groups.some(({ tables }) => tables.some(({ isAbsolute }) => isAbsolute))
  return {
    stack: [
      {
        columns: [
          { text: phrase('Unit {unit}', { unit: card.unit }), style: 'title', width: 'auto' },
          {
            text: phrase('Cab card: from air pressure to axle weight'),
            alignment: 'right',
            margin: [0, 6, 0, 0],
            color: quiet,
          },
        ],
      },
      { text: about.join(' · '), color: quiet, margin: [0, 0, 0, 4] },
      { canvas: [{ type: 'line', x1: 0, y1: 0, x2: 532, y2: 0, lineWidth: 1, lineColor: ink }] },
      ...(blocks.length === 0
        ? [
            {
              text: phrase('No axle group of this unit has a line that holds today: weigh it on a scale.'),
              bold: true,
              margin: [0, 10, 0, 0],
            } as Content,
          ]
        : rows),
      ...without.map(
        ({ why }): Content => ({ text: why === null ? '' : sayUnweighed(why, say), margin: [0, 5, 0, 0] }),
      ),
      ...(absolute && card.yardAirPsi !== null
        ? [
            {
              text: phrase('Air pressure at {yard} ({elevation}): {yardAirPsi}.', {
                yard: card.yard,
                elevation: say.elevation(card.yardFt ?? 0),
                yardAirPsi: say.pressure(card.yardAirPsi),
              }),
              margin: [0, 5, 0, 0],
            } as Content,
          ]
        : []),
      {
        text: readingConditions(),
        margin: [0, 8, 0, 6],
        color: quiet,
      },
      boxed({
        fontSize: 8.5,
        stack: [{ text: phrase('Cautions'), bold: true, margin: [0, 0, 0, 1] }, { ul: [...cautions()] }],
      }),
    ],
    ...(isFirst ? {} : { pageBreak: 'before' as const }),
  }
}

/**
 * Cab cards to print, one page a unit: pressure-to-weight tables, target pressures, how sure and until when, and the
 * cautions.
 */
export function cabCardDefinition(cards: readonly CabCard[], head: CabCardHead): TDocumentDefinitions {
  const [only] = cards
  return {
    ...printedPage(
      cards.length === 1 && only
        ? phrase('Cab card of unit {unit}, {asOf}', { unit: only.unit, asOf: head.asOf })
        : phrase('Cab cards, {asOf}', { asOf: head.asOf }),
      phrase('{file} · printed {asOf} · not legal for trade', { file: head.file, asOf: head.asOf }),
    ),
    pageMargins: [40, 36, 40, 40],
    defaultStyle: { font: 'Roboto', fontSize: 9, color: ink, lineHeight: 1.05 },
    styles: {
      title: { fontSize: 20, bold: true },
      heading: { fontSize: 11, bold: true },
      small: { fontSize: 8, color: quiet },
    },
    content: cards.map((card, i) => cardOf(card, head, i === 0)),
  }
}

/** The cards of units as they are at a time (ms UTC), by unit number. Errors: TarelineError `no-such-unit`. */
async function readCabCards(
  store: Store,
  numbers: readonly string[],
  at: number,
): Promise<{ cards: CabCard[]; rules: HouseRules }> {
  const units = await listCardUnits(store.db, numbers)
  const missing = numbers.find((number) => !units.some((unit) => unit.number === number))
  if (missing !== undefined) throw noSuchUnit(missing)
  const unitIds = units.map(({ id }) => id)
  const facts = await readWeighSource(store, {
    unitIds,
    tare: false,
    asOf: judgedAt(at, await readZone(store.db)),
  })
  const standings = await readStandings(store.db, unitIds)
  const fleet = weigher(facts)
  const say = sayOfRules(facts.rules)
  const cards = units.map(
    ({ id, number, kind, make, model, model_year, gross_limit_lb, yard, yard_ft }): CabCard => ({
      unit: number,
      kind,
      about: [make, model, model_year].filter((part) => part !== null).join(' '),
      yard,
      yardFt: yard_ft,
      yardAirPsi: yard_ft === null ? null : atmosphericPsi(yard_ft),
      grossLimitLb: gross_limit_lb,
      groups: cabGroups(fleet.ready([id]), at, say.gaugeStepPsi),
      standings,
    }),
  )
  return { cards, rules: facts.rules }
}

/** The cab cards of units as one PDF, a page a unit. Errors: TarelineError `no-such-unit`. */
export async function makeCabCards(
  store: Store,
  numbers: readonly string[],
  at: number,
): Promise<Uint8Array<ArrayBuffer>> {
  const { cards, rules } = await readCabCards(store, numbers, at)
  const say = sayOfRules(rules)
  return makePdf(
    cabCardDefinition(cards, {
      asOf: dayOf(at, rules.zone),
      file: basename(store.file),
      confidencePercent: rules.verdictConfidencePercent,
      say,
    }),
  )
}
