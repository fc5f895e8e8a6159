import { generateOperationKey } from '@orpc/tanstack-query'
import { beforeEach, describe, expect, it } from 'vitest'
import type { FileState, News } from '#core/contracts/file.ts'
import type { RosterCounts, RosterList, RosterListInput, RosterRow } from '#core/contracts/unit.ts'
import { followFile, lastSeen, seenUpTo, setTold, takeNews, toldOf } from '#renderer/client/news.ts'
import { queryClient, stateKey } from '#renderer/client/query-client.ts'

const row = (unit: string, calibratedAt = 'then'): RosterRow => ({
  unitId: Number(unit.slice(2)),
  unit,
  make: 'Brennock',
  kind: 'tractor',
  model: null,
  modelYear: null,
  yard: null,
  retired: false,
  trust: 'sound',
  groups: 1,
  worstFinding: null,
  findingCodes: [],
  calibratedAt,
  dueOn: null,
  uLimitLb: null,
  cellSince: null,
})

const counts: RosterCounts = {
  trust: { uncalibrated: 0, upset: 0, doubtful: 0, overdue: 0, 'due soon': 0, sound: 2 },
  notSensed: 0,
}
const pageKey = (input: RosterListInput) => generateOperationKey(['roster', 'list'], { type: 'query', input })
/** A page of all units in service, as the Roster asks for it. */
const rosterPage = pageKey({ retired: false, sort: 'trust', offset: 0, limit: 100 })
const pageOf = (rows: RosterRow[]): RosterList => ({
  asOf: null,
  rows,
  total: rows.length,
  all: 2,
  counts,
  place: null,
  choices: { yards: [], findings: [], retired: false },
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
  counts,
  changes: [],
  present: [],
  ...more,
})

const sheetOf = (unit: string) => generateOperationKey(['unit', 'sheet'], { type: 'query', input: { unit } })
const logKey = generateOperationKey(['log', 'list'], { type: 'query', input: {} })
const benchKey = generateOperationKey(['bench', 'plan'], { type: 'query', input: {} })
const aboutKey = generateOperationKey(['copies', 'check'], { type: 'query', input: { name: 'x' } })
const isStale = (key: readonly unknown[]) => queryClient.getQueryState(key)?.isInvalidated
const shown = () =>
  queryClient.getQueryData<RosterList>(rosterPage)?.rows.map(({ unit, calibratedAt }) => `${unit} ${calibratedAt}`)

beforeEach(() => {
  revision += 100
  setTold(false)
  queryClient.clear()
  followFile(stateAt())
  setTold(true)
  queryClient.setQueryData<RosterList>(rosterPage, pageOf([row('T-1'), row('T-2')]))
  for (const key of [sheetOf('T-1'), sheetOf('T-2'), logKey, benchKey, aboutKey]) queryClient.setQueryData(key, {})
})

describe('news that go on from what the window knows', () => {
  const change = () => {
    const state = stateAt({ revision: revision + 1, renewals: revision + 1, madeOf: 'x y' })
    return newsOf(state, { kinds: ['lines', 'words'], judged: true, units: ['T-1'], rows: [row('T-1', 'now')] })
  }

  it('put rows in their place, and have asked again what may be about their units', () => {
    takeNews(change())
    expect(shown()).toEqual(['T-1 now', 'T-2 then'])
    expect([rosterPage, sheetOf('T-1'), sheetOf('T-2'), logKey, benchKey].map(isStale)).toEqual([
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
    takeNews({ ...news, state: stateAt(), rows: [row('T-1', 'earlier')] })
    expect(shown()).toEqual(['T-1 now', 'T-2 then'])
    expect(lastSeen()?.revision).toBe(revision + 1)
  })

  it('about a unit of another page leave this one, until counts have moved or a filter may let it in', () => {
    const narrowed = pageKey({ finding: 'short-span', retired: false })
    takeNews({ ...change(), units: ['T-3'], rows: [row('T-3')] })
    expect(isStale(rosterPage)).toBe(false)
    queryClient.setQueryData<RosterList>(narrowed, pageOf([row('T-1')]))
    const state = stateAt({ revision: revision + 2, renewals: revision + 2 })
    takeNews(newsOf(state, { kinds: ['words'], judged: true, units: ['T-3'], rows: [row('T-3')] }))
    expect([rosterPage, narrowed].map(isStale)).toEqual([true, true])
    queryClient.setQueryData<RosterList>(rosterPage, pageOf([row('T-1')]))
    queryClient.removeQueries({ queryKey: narrowed })
    const moved = { trust: { ...counts.trust, sound: 1, overdue: 1 }, notSensed: 0 }
    const next = stateAt({ revision: revision + 3, renewals: revision + 3 })
    takeNews(newsOf(next, { kinds: ['words'], judged: true, units: ['T-3'], rows: [row('T-3')], counts: moved }))
    expect(isStale(rosterPage)).toBe(true)
  })

  it('that give a line another place or name, or are about any unit, have its page asked again', () => {
    takeNews({ ...change(), rows: [{ ...row('T-1'), trust: 'doubtful' }] })
    expect(isStale(rosterPage)).toBe(true)
    queryClient.setQueryData<RosterList>(rosterPage, pageOf([row('T-1')]))
    const renamed = stateAt({ revision: revision + 2, renewals: revision + 2 })
    takeNews(newsOf(renamed, { kinds: ['words'], units: ['T-9'], rows: [{ ...row('T-9'), unitId: 1 }] }))
    expect(isStale(rosterPage)).toBe(true)
    queryClient.setQueryData<RosterList>(rosterPage, pageOf([row('T-1')]))
    const state = stateAt({ revision: revision + 3, renewals: revision + 3 })
    takeNews(newsOf(state, { kinds: ['words'], units: null }))
    expect([rosterPage, sheetOf('T-2')].map(isStale)).toEqual([true, true])
  })

  it('of a weighing leave units to choose from that were not weighed; of any other change they do not', () => {
    const picksKey = generateOperationKey(['weigh', 'combinations'], { type: 'query', input: { text: 'T' } })
    const picks = { units: [{ unit: 'T-1', kind: 'tractor', yard: null, groups: 1, sensed: 1 }], usual: [] } as const
    const changed = (subject: string, unit: string) => {
      queryClient.setQueryData(picksKey, { ...picks, whole: false, namesDrivers: false })
      const told = { at: 'now', by: 'Ada', unit, subject, key: 'x', recordId: 1 }
      takeNews(
        newsOf(stateAt({ revision: ++revision, renewals: revision, madeOf: `${revision} ${revision}` }), {
          kinds: ['weights'],
          weighed: true,
          units: [unit],
          changes: [told],
        }),
      )
      return isStale(picksKey)
    }
    expect([changed('ticket', 'T-2'), changed('ticket', 'T-1')]).toEqual([false, true])
    expect([changed('unit', 'T-3'), changed('yard', 'T-2'), changed('house rule', 'T-2')]).toEqual([true, true, true])
  })

  it('of a weighing leave the House Rules as they are; of any other change they do not', () => {
    const rulesKey = generateOperationKey(['houseRules', 'list'], { type: 'query' })
    const tryOutKey = generateOperationKey(['houseRules', 'tryOut'], { type: 'query', input: { value: 1 } })
    const changed = (...subjects: string[]) => {
      for (const key of [rulesKey, tryOutKey]) queryClient.setQueryData(key, {})
      const told = subjects.map((subject) => ({ at: 'now', by: 'Ada', unit: 'T-1', subject, key: 'x', recordId: 1 }))
      takeNews(
        newsOf(stateAt({ revision: ++revision, renewals: revision, madeOf: `${revision} ${revision}` }), {
          kinds: ['weights'],
          weighed: true,
          changes: told,
        }),
      )
      return [rulesKey, tryOutKey].map(isStale)
    }
    expect(changed('ticket', 'reading')).toEqual([false, true])
    expect(changed('ticket', 'house rule')).toEqual([true, true])
    expect(changed()).toEqual([true, true])
  })

  it('of a fleet that is being followed up renew rows at once, and the rest when it is done', () => {
    const following = { work: 'judge', share: 0.5 } as const
    takeNews(
      newsOf(stateAt({ renewals: revision + 1, following }), {
        judged: true,
        units: ['T-2'],
        rows: [row('T-2', 'now')],
      }),
    )
    expect(shown()).toEqual(['T-1 then', 'T-2 now'])
    takeNews(newsOf(stateAt({ renewals: revision + 2, following }), { judged: true, units: null }))
    expect([rosterPage, sheetOf('T-1'), benchKey].map(isStale)).toEqual([false, true, false])
    takeNews(newsOf(stateAt({ renewals: revision + 3 }), { judged: true, whole: true }))
    expect([rosterPage, sheetOf('T-1'), sheetOf('T-2'), benchKey, logKey].map(isStale)).toEqual([
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
  takeNews(newsOf(state, { since, kinds: ['words'], units: ['T-1'], rows: [row('T-1', 'now')] }))
  expect([rosterPage, sheetOf('T-2'), logKey, benchKey].map(isStale)).toEqual([true, true, true, true])
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
