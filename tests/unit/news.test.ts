import { generateOperationKey } from '@orpc/tanstack-query'
import { beforeEach, describe, expect, it } from 'vitest'
import type { FileState, News } from '#core/contracts/file.ts'
import type { RosterList, RosterRow } from '#core/contracts/unit.ts'
import { followFile, lastSeen, seenUpTo, setTold, takeNews, toldOf } from '#renderer/client/news.ts'
import { queryClient, rosterKey, stateKey } from '#renderer/client/query-client.ts'

const row = (unit: string, make = 'Brennock'): RosterRow => ({
  unit,
  make,
  kind: 'tractor',
  model: null,
  modelYear: null,
  yard: null,
  retired: false,
  trust: 'sound',
  groups: 1,
  worstFinding: null,
  findingCodes: [],
  calibratedAt: null,
  dueOn: null,
  uLimitLb: null,
  cellSince: null,
})

let revision = 100
const stateAt = (more: Partial<FileState> = {}): FileState => ({
  file: '/srv/fleet.tareline',
  demo: false,
  units: 2,
  version: '0.0.0',
  revision,
  renewals: revision,
  assessedAt: '2026-11-24T23:59:59.999Z',
  madeOf: `${revision} ${revision}`,
  current: true,
  judgedOn: '2026-11-24',
  following: null,
  heldBack: false,
  copyFailure: null,
  careWarnings: [],
  lookedAt: null,
  mended: null,
  ...more,
})
const seenIn = ({ file, revision: r, renewals, madeOf }: FileState) => ({ file, revision: r, renewals, madeOf })

/** News that go on from what the window knows. */
const newsOf = (state: FileState, more: Partial<News> = {}): News => ({
  state,
  since: seenUpTo(),
  kinds: [],
  judged: false,
  weighed: false,
  whole: false,
  units: [],
  rows: [],
  changes: [],
  present: [],
  ...more,
})

const sheetOf = (unit: string) => generateOperationKey(['unit', 'sheet'], { type: 'query', input: { unit } })
const logKey = generateOperationKey(['log', 'list'], { type: 'query', input: {} })
const benchKey = generateOperationKey(['bench', 'plan'], { type: 'query', input: {} })
const aboutKey = generateOperationKey(['copies', 'check'], { type: 'query', input: { name: 'x' } })
const isStale = (key: readonly unknown[]) => queryClient.getQueryState(key)?.isInvalidated
const makes = () => queryClient.getQueryData<RosterList>(rosterKey)?.rows.map(({ unit, make }) => `${unit} ${make}`)

beforeEach(() => {
  revision += 100
  setTold(false)
  queryClient.clear()
  followFile(stateAt())
  setTold(true)
  queryClient.setQueryData<RosterList>(rosterKey, { asOf: null, rows: [row('T-1'), row('T-2')] })
  for (const key of [sheetOf('T-1'), sheetOf('T-2'), logKey, benchKey, aboutKey]) queryClient.setQueryData(key, {})
})

describe('news that go on from what the window knows', () => {
  const change = () => {
    const state = stateAt({ revision: revision + 1, renewals: revision + 1, madeOf: 'x y' })
    return newsOf(state, { kinds: ['lines', 'words'], judged: true, units: ['T-1'], rows: [row('T-1', 'Oxbow')] })
  }

  it('put rows in their place, and have asked again what may be about their units', () => {
    takeNews(change())
    expect(makes()).toEqual(['T-1 Oxbow', 'T-2 Brennock'])
    expect([rosterKey, sheetOf('T-1'), sheetOf('T-2'), logKey, benchKey].map(isStale)).toEqual([
      false,
      true,
      false,
      true,
      true,
    ])
    expect(queryClient.getQueryData(stateKey)).toMatchObject({ revision: revision + 1 })
  })

  it('told twice, or told late, they change nothing', () => {
    const news = change()
    takeNews(news)
    queryClient.setQueryData(sheetOf('T-1'), {})
    takeNews(news)
    expect(isStale(sheetOf('T-1'))).toBe(false)
    takeNews({ ...news, state: stateAt(), rows: [row('T-1', 'Older')] })
    expect(makes()).toEqual(['T-1 Oxbow', 'T-2 Brennock'])
    expect(lastSeen()?.revision).toBe(revision + 1)
  })

  it('about a unit that the Roster does not have, or about any, have it asked for as a whole', () => {
    takeNews({ ...change(), units: ['T-3'], rows: [row('T-3')] })
    expect(isStale(rosterKey)).toBe(true)
    queryClient.setQueryData<RosterList>(rosterKey, { asOf: null, rows: [row('T-1')] })
    const state = stateAt({ revision: revision + 2, renewals: revision + 2 })
    takeNews(newsOf(state, { kinds: ['words'], units: null }))
    expect([rosterKey, sheetOf('T-2')].map(isStale)).toEqual([true, true])
  })

  it('of a fleet that is being followed up renew rows at once, and the rest when it is done', () => {
    const following = { stage: 'Assessing the fleet', share: 0.5 }
    takeNews(
      newsOf(stateAt({ renewals: revision + 1, following }), {
        judged: true,
        units: ['T-2'],
        rows: [row('T-2', 'Oxbow')],
      }),
    )
    expect(makes()).toEqual(['T-1 Brennock', 'T-2 Oxbow'])
    takeNews(newsOf(stateAt({ renewals: revision + 2, following }), { judged: true, units: null }))
    expect([rosterKey, sheetOf('T-1'), benchKey].map(isStale)).toEqual([false, true, false])
    takeNews(newsOf(stateAt({ renewals: revision + 3 }), { judged: true, whole: true }))
    expect([rosterKey, sheetOf('T-1'), sheetOf('T-2'), benchKey, logKey].map(isStale)).toEqual([
      true,
      true,
      true,
      true,
      false,
    ])
  })
})

it('news that leave a gap have everything asked again', () => {
  const state = stateAt({ revision: revision + 5, renewals: revision + 5 })
  const since = seenIn(stateAt({ revision: revision + 4, renewals: revision + 4 }))
  takeNews(newsOf(state, { since, kinds: ['words'], units: ['T-1'], rows: [row('T-1', 'Oxbow')] }))
  expect([rosterKey, sheetOf('T-2'), logKey, benchKey].map(isStale)).toEqual([true, true, true, true])
})

it('a window that is told leaves what it asks itself to the news; one that is not goes by it', () => {
  followFile(stateAt({ revision: revision + 1 }))
  expect(isStale(logKey)).toBe(false)
  setTold(false)
  followFile(stateAt({ revision: revision + 1 }))
  expect(isStale(logKey)).toBe(true)
})

it('who saved waits until the window was told of it', async () => {
  const state = stateAt({ revision: revision + 1, renewals: revision + 1 })
  const waited = toldOf(state)
  takeNews(newsOf(state, { kinds: ['words'], units: ['T-1'] }))
  expect(await waited).toBe(true)
  setTold(false)
  expect(await toldOf(stateAt({ revision: revision + 2 }))).toBe(false)
})
