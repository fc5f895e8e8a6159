import { listSensors } from '#core/store/fleet-lists.ts'
import { openStore } from '#core/store/open.ts'
import { type RosterAsked, readRosterChoices, readRosterPage } from '#core/store/roster-lines.ts'
import { listRoster } from '#core/store/roster.ts'
import { scratchDatabase } from '#tests/bench/data.ts'
import { medianMs, medianTimes, milliseconds, times, whole } from '#tests/bench/figures.ts'
import { insertListedFleet } from '#tests/bench/listed-fleet.ts'
import { type Measurement, type Section, atMost } from '#tests/bench/section.ts'

const units = 100_000
/** What is asked of a page of any list. */
const pageMs = 100
const pageBytes = 200_000

async function measure(): Promise<Measurement[]> {
  const { file, remove } = scratchDatabase('lists')
  const store = await openStore(file)
  try {
    insertListedFleet(store, units)
    const first: RosterAsked = { retired: false, sort: 'trust', descending: false, offset: 0, limit: 100 }
    const started = performance.now()
    await readRosterPage(store, first)
    const made = performance.now() - started
    const allMs = await medianMs(3, () => listRoster(store))
    const page = async (what: string, read: () => Promise<unknown>): Promise<Measurement[]> => {
      let bytes = 0
      const { ms, cpuMs } = await medianTimes(5, async () => {
        bytes = JSON.stringify(await read()).length
      })
      return [
        {
          what,
          measured: `${milliseconds(ms)}, ${milliseconds(cpuMs)} of work`,
          baseline: milliseconds(allMs),
          ratio: `${times(ms / allMs)} as long`,
          goal: atMost(ms, pageMs, milliseconds),
        },
        { what: '  bytes', measured: whole(bytes), goal: atMost(bytes, pageBytes, whole) },
      ]
    }
    const roster = (more: Partial<RosterAsked>) => () => readRosterPage(store, { ...first, ...more })
    return [
      { what: 'lines of all units made for the first time', measured: milliseconds(made) },
      ...(await page("Roster's first page", roster({}))),
      ...(await page('  its last page', roster({ offset: units - 100 }))),
      ...(await page('  where a unit stands in it', roster({ at: 'T50001' }))),
      ...(await page('  sorted by another column', roster({ sort: 'age', descending: true }))),
      ...(await page('  the middle of that', roster({ sort: 'age', descending: true, offset: units / 2 }))),
      ...(await page('  narrowed by a letter', roster({ text: 't' }))),
      ...(await page('  narrowed by two words', roster({ text: 'brennock drover' }))),
      ...(await page('  a text found nowhere', roster({ text: 'zzq-nowhere' }))),
      ...(await page('  of one finding', roster({ finding: 'short-span' }))),
      ...(await page('  what it can be narrowed to', () => readRosterChoices(store))),
      ...(await page('units that begin with what is typed', roster({ sort: 'match', text: 'T400', limit: 10 }))),
      ...(await page("sensors' first page", () => listSensors(store.db, { text: '', after: undefined, limit: 101 }))),
      ...(await page('  a text found nowhere', () =>
        listSensors(store.db, { text: 'zzq-nowhere', after: undefined, limit: 101 }),
      )),
    ]
  } finally {
    await store.close()
    remove()
  }
}

export const lists: Section = {
  title: `Pages of lists of ${whole(units)} units, 250,000 sensors`,
  against: 'every row of the Roster at once, as it was read before it had pages',
  measure,
}
