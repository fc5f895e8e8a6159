import type { BrowserContext, Page } from '@playwright/test'
import { type App, startAppOn } from './app.ts'
import { admit, expect, test as base } from './fixtures.ts'
import { RosterPage } from './pages/roster-page.ts'
import { violations } from './violations.ts'

const test = base.extend<object, { liveApp: App }>({
  liveApp: [
    // biome-ignore lint/correctness/noEmptyPattern: the test runner reads the needed fixtures off this pattern
    async ({}, use) => {
      const app = await startAppOn('small')
      await use(app)
      await app.stop()
    },
    { scope: 'worker' },
  ],
})

/** What a page asks of the procedures, by name. */
function listen(page: Page): { count(procedure: string): number } {
  const asked: string[] = []
  page.on('request', (request) => asked.push(new URL(request.url()).pathname))
  return { count: (procedure) => asked.filter((path) => path === `/rpc/${procedure}`).length }
}

async function openRoster(context: BrowserContext, app: App) {
  const page = await context.newPage()
  await admit(page, app)
  const asked = listen(page)
  const roster = new RosterPage(page, app.origin)
  await roster.open()
  await roster.line('T-101').waitFor()
  return { page, roster, asked }
}

let makes = 0

/** Another seat gives T-101 a make that it never had; answers it. */
async function rename({ client }: App): Promise<string> {
  makes += 1
  const make = `Make ${makes}`
  const { unit } = await client.fleet.unit({ unit: 'T-101' })
  await client.fleet.save({
    subject: 'unit',
    id: unit.id,
    parent: {},
    was: unit.values,
    values: { make },
    reason: 'live',
    localZone: null,
    workedAt: null,
    by: 'Ada',
  })
  return make
}

const followers = (windows: readonly { readonly asked: ReturnType<typeof listen> }[]) =>
  windows.reduce((sum, { asked }) => sum + asked.count('file/follow'), 0)

test('a Roster shows a change of another window without being asked for again', async ({ context, liveApp }) => {
  const { roster, asked } = await openRoster(context, liveApp)
  await expect.poll(() => asked.count('file/follow')).toBe(1)
  const lists = asked.count('roster/list')
  const before = await roster.numbers()
  for (let turn = 0; turn < 3; turn += 1) await expect(roster.line('T-101')).toContainText(await rename(liveApp))
  expect(await roster.numbers()).toEqual(before)
  expect(asked.count('roster/list')).toBe(lists)
})

test('eight tabs share one stream, none keeps another waiting, and the next takes over from one that is closed', async ({
  context,
  liveApp,
}) => {
  const tabs: Awaited<ReturnType<typeof openRoster>>[] = []
  for (let at = 0; at < 8; at += 1) tabs.push(await openRoster(context, liveApp))
  await expect.poll(() => followers(tabs)).toBe(1)
  const make = await rename(liveApp)
  for (const { roster } of tabs) await expect(roster.line('T-101')).toContainText(make)
  // Every tab still has its questions answered while the stream is open.
  for (const { page } of tabs) {
    await page.evaluate(() => {
      location.hash = '#/unit/T-101'
    })
    await expect(page.getByRole('heading', { name: 'T-101', level: 1 })).toBeVisible()
  }
  const leader = tabs.findIndex(({ asked }) => asked.count('file/follow') > 0)
  await tabs[leader]?.page.close()
  const left = tabs.filter((_, at) => at !== leader)
  await expect.poll(() => followers(left)).toBe(1)
  for (const { page } of left)
    await page.evaluate(() => {
      location.hash = '#/roster'
    })
  const next = await rename(liveApp)
  for (const { roster } of left) await expect(roster.line('T-101')).toContainText(next)
})

test('a window that is not told asks as it did before', async ({ context, liveApp }) => {
  await context.route('**/rpc/file/follow', (route) => route.abort())
  const { roster, asked } = await openRoster(context, liveApp)
  const make = await rename(liveApp)
  await expect(roster.line('T-101')).toContainText(make)
  expect(asked.count('file/state')).toBeGreaterThan(1)
  // It is told again once the stream is there.
  await context.unroute('**/rpc/file/follow')
  const streams = asked.count('file/follow')
  await expect.poll(() => asked.count('file/follow')).toBeGreaterThan(streams)
  await expect(roster.line('T-101')).toContainText(await rename(liveApp))
})

test('while the fleet is followed up, every screen says as of when it is shown and how far that is, and can leave it', async ({
  context,
  liveApp,
}) => {
  let following: object | null = { work: 'judge', share: 0.456 }
  await context.route('**/rpc/file/follow', (route) => route.abort())
  await context.route(/rpc\/file\/(state|holdBack|followUp)$/, async (route) => {
    if (route.request().url().endsWith('holdBack')) following = null
    if (route.request().url().endsWith('followUp')) following = { work: 'weigh', share: null }
    const answer = await route.fetch({ url: `${liveApp.origin}/rpc/file/state` })
    const body = (await answer.json()) as { json: object }
    const state = { ...body.json, current: false, judgedOn: '2026-11-24', following, heldBack: following === null }
    await route.fulfill({ response: answer, json: { ...body, json: state } })
  })
  const { page } = await openRoster(context, liveApp)
  const strip = page.getByRole('complementary', { name: 'Not up to date yet' })
  await expect(strip).toContainText('judged for 2026-11-24')
  await expect(strip).toContainText('Assessing the fleet 45 %')
  expect(await violations(page)).toEqual([])
  await strip.getByRole('button', { name: 'Not now' }).click()
  await expect(strip).toContainText('Left as it is.')
  await strip.getByRole('button', { name: 'Bring it up to date' }).click()
  await expect(strip).toContainText('Weighing the record')
})
