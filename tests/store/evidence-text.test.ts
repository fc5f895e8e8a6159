import { describe, expect, it } from 'vitest'
import { listReadings, listTickets } from '#core/store/evidence-lists.ts'
import type { Store } from '#core/store/open.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const rows = 2500

/**
 * Tickets on three scales and readings, more than are looked up by their ids, and a few that hold a word of their own.
 */
function fill({ raw }: Store): void {
  raw.exec("insert into scale (id, name) values (1, 'Alder Flat Yard'), (2, 'Bracken 7'), (3, 'Öd Gate')")
  raw.exec(`with recursive n(i) as (select 1 union all select i + 1 from n where i < ${rows})
    insert into ticket (id, scale_id, number, weighed_at) select i, 1 + i % 3, iif(i % 500 = 0, 'Rare ', 'N') || i,
      strftime('%Y-%m-%dT%H:%M:%S.000Z', 1700000000 + 7919 * i % 100000, 'unixepoch') from n`)
  raw.exec(`with recursive n(i) as (select 1 union all select i + 1 from n where i < ${rows})
    insert into reading (id, name, taken_at) select i, iif(i % 500 = 0, 'Seldom', 'R') || i,
      strftime('%Y-%m-%dT%H:%M:%S.000Z', 1700000000 + 7919 * i % 100000, 'unixepoch') from n`)
}

interface Found {
  readonly id: number
  readonly at: string
  readonly text: string
}

/** Every page of a list, one after the other. */
async function allPages(
  page: (after: { at: string; id: number } | undefined) => Promise<readonly Found[]>,
): Promise<number[]> {
  const ids: number[] = []
  let after: { at: string; id: number } | undefined
  for (;;) {
    const found = await page(after)
    ids.push(...found.map(({ id }) => id))
    const last = found.at(-1)
    if (!last) return ids
    after = { at: last.at, id: last.id }
  }
}

const holds = (text: string, typed: string) =>
  typed
    .split(' ')
    .filter(Boolean)
    .every((word) => text.toLowerCase().includes(word.toLowerCase()))

describe('a text in a list of evidence is found in every row that holds it, newest first, page by page', () => {
  it.each(['rare', 'nowhere', 'n', 'BRACKEN', 'rare yard', '7', '7 bracken', 'n24 gate', '%', 'Öd', ''])(
    'tickets: “%s”',
    (text) =>
      withStore(async (store) => {
        fill(store)
        const list = async (asked: string, after: { at: string; id: number } | undefined, limit: number) =>
          (await listTickets(store.db, { text: asked, after, limit })).map(({ id, weighed_at, number, scale }) => ({
            id,
            at: weighed_at,
            text: `${number} ${scale}`,
          }))
        const all = await list('', undefined, rows)
        expect(all).toHaveLength(rows)
        expect(await allPages((after) => list(text, after, 400))).toEqual(
          all.filter((row) => holds(row.text, text)).map(({ id }) => id),
        )
      }),
  )

  it.each(['seldom', 'nowhere', 'r', '99', 'r 12', '_'])('readings: “%s”', (text) =>
    withStore(async (store) => {
      fill(store)
      const list = async (asked: string, after: { at: string; id: number } | undefined, limit: number) =>
        (await listReadings(store.db, { text: asked, after, limit })).map(({ id, taken_at, name }) => ({
          id,
          at: taken_at,
          text: name,
        }))
      const all = await list('', undefined, rows)
      expect(await allPages((after) => list(text, after, 400))).toEqual(
        all.filter((row) => holds(row.text, text)).map(({ id }) => id),
      )
    }),
  )
})
