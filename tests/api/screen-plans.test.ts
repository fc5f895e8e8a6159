import { beforeAll, describe, expect, it } from 'vitest'
import { openWindow } from '#tests/api/open-window.ts'
import { type Client, bringInSmallFleet } from '#tests/api/windows.ts'
import { procedureList } from '#tests/api/procedure-list.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'
import { planAsForLargeFleet, planWithoutCounts } from '#tests/store/large-fleet-counts.ts'
import { statementsOf, unindexedScans } from '#tests/store/query-plan.ts'
import { renewedBy } from '#renderer/client/renewal.ts'

/** Tables that grow with the years. What walks one whole has to walk it along an index, in the order that it wants. */
const big = [
  'reading',
  'reading_pressure',
  'reading_unit',
  'ticket',
  'ticket_weight',
  'calibration',
  'calibration_point',
  'event',
  'weighed_unit',
  'heavy',
  'change_log',
  'change_unit',
  'battery_change',
  'ticket_attachment',
]

/** What each screen asks when it is opened. */
const questions: Readonly<Record<string, (client: Client) => Promise<unknown>>> = {
  'roster.list': ({ roster }) => roster.list(),
  'unit.sheet': ({ unit }) => unit.sheet({ unit: 'T-101' }),
  'log.list': ({ log }) => log.list({}),
  'log.list of a unit': ({ log }) => log.list({ unit: 'T-101' }),
  'log.last': ({ log }) => log.last(),
  'log.people': ({ log }) => log.people(),
  'fleet.basics': ({ fleet }) => fleet.basics(),
  'fleet.sensors': ({ fleet }) => fleet.sensors({}),
  'fleet.unit': ({ fleet }) => fleet.unit({ unit: 'T-101' }),
  'scales.list': ({ scales }) => scales.list(),
  'weigh.combinations': ({ weigh }) => weigh.combinations(),
  'weigh.preview': ({ weigh }) => weigh.preview({ units: ['T-101', 'V-201'] }),
  'weighIn.prepare': ({ weighIn }) => weighIn.prepare({ units: ['T-101', 'V-201'] }),
  'weighIn.recorded': ({ weighIn }) => weighIn.recorded({ unit: 'T-101' }),
  'evidence.tickets': ({ evidence }) => evidence.tickets({}),
  'evidence.tickets of a unit': ({ evidence }) => evidence.tickets({ unit: 'T-101' }),
  'evidence.readings': ({ evidence }) => evidence.readings({}),
  'evidence.readings of a unit': ({ evidence }) => evidence.readings({ unit: 'T-101' }),
  'evidence.calibrations': ({ evidence }) => evidence.calibrations({}),
  'evidence.sheet': ({ evidence }) => evidence.sheet({ kind: 'ticket', id: 1 }),
  'heavy.list': ({ heavy }) => heavy.list({ offset: 0, limit: 100 }),
  'heavy.list of a unit': ({ heavy }) => heavy.list({ unit: 'T-101', offset: 0, limit: 100 }),
  'heavy.summary': ({ heavy }) => heavy.summary({}),
  'heavy.summary of a unit': ({ heavy }) => heavy.summary({ unit: 'T-101' }),
  'attachment.list': ({ attachment }) => attachment.list({ ticketId: 1 }),
  'bench.unitWork': ({ bench }) => bench.unitWork({ unit: 'T-101' }),
  'bench.weighNext': ({ bench }) => bench.weighNext(),
  'file.state': ({ file }) => file.state(),
  'today.page': ({ today }) => today.page({}),
  'heavy.monday': ({ heavy }) => heavy.monday({}),
}

/** What is walked as it lies because that is the question: the newest rows first, or the lives of all cells. */
const asked: Readonly<Record<string, readonly string[]>> = {
  'log.list': ['change_log'],
  'bench.unitWork': ['battery_change'],
}

let app: RunningApp
let client: Client

beforeAll(async () => {
  const window = await openWindow(await runApp())
  ;({ app, client } = window)
  await bringInSmallFleet(app, client)
  await client.roster.list()
  return window.end
})

const table: Readonly<Record<string, readonly string[]>> = renewedBy

it('every subject that a screen asks about is among the questions', () => {
  const subjectsAsked = new Set(Object.keys(questions).map((name) => name.split('.')[0]))
  const subjects = procedureList.filter(({ name }) => table[name]?.length === 0).map(({ path }) => path[0])
  const beside = [
    'about',
    'folder',
    'copies',
    'finding',
    'desk',
    'houseRules',
    'foreign',
    'cabCard',
    'safekeeping',
    'people',
    'house',
    'places',
  ]
  expect(subjects.filter((subject) => !subjectsAsked.has(subject) && !beside.includes(subject ?? ''))).toEqual([])
})

describe.each([
  ['before the file was ever looked over', planWithoutCounts],
  ['with the counts of a large fleet', planAsForLargeFleet],
])('%s', (_, plan) => {
  it.each(Object.entries(questions))(
    '%s walks no table that grows with the years without an index',
    async (name, ask) => {
      await app.context.fleet.use(async (store) => {
        plan(store)
        let answer: unknown
        const statements = await statementsOf(store, async () => {
          answer = await ask(client).catch((error: unknown) => error)
        })
        expect(answer).not.toBeInstanceOf(Error)
        for (const sql of statements)
          expect({
            sql,
            walked: unindexedScans(store, sql).filter((each) => big.includes(each) && !asked[name]?.includes(each)),
          }).toEqual({
            sql,
            walked: [],
          })
      })
    },
  )
})
