import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import type { ClientHttp2Session } from 'node:http2'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout } from 'node:timers/promises'
import type { News, Seen as SeenOfFile } from '#core/contracts/file.ts'
import { openDoor } from '#core/door/door.ts'
import { timeNow } from '#core/store/clock.ts'
import type { Client } from '#tests/api/windows.ts'
import { rowsOfUnit } from '#tests/bench/data.ts'
import { megabytes, milliseconds, quantile, whole } from '#tests/bench/figures.ts'
import { writeLargeFleet } from '#tests/bench/large-fleet.ts'
import { runTareline } from '#tests/bench/program.ts'
import { type Goal, type Measurement, type Section, atMost } from '#tests/bench/section.ts'
import { weighInOf } from '#tests/bench/weigh-in-of.ts'
import { openBrowser } from '#tests/bench/start-app.ts'
import { type WindowDesk, lookAround, minuteAtWindow, openWindowDesk } from '#tests/bench/window-desk.ts'
import { freePort } from '#tests/free-port.ts'
import { type HouseProcess, startHouse } from '#tests/house/house-process.ts'
import { clientOverHttp2, connectTo, passwordOf, signIn } from '#tests/house/running-house.ts'

interface Settings {
  readonly desks: number
  /** How many of them are windows of a real browser. */
  readonly windows: number
  readonly units: number
  readonly minutes: number
}

const savesAMinute = 1
/** Who sits at a desk. */
const personAt = (at: number): string => `desk ${at}`

/** What all desks have seen. */
interface Seen {
  readonly saves: number[]
  readonly pages: number[]
  /** How long after a save was sent another desk was told of it. */
  readonly changes: number[]
  readonly troubles: string[]
}

interface Desk {
  readonly at: number
  readonly session: ClientHttp2Session
  readonly client: Client
  /** Settles once it is told what happens. */
  readonly hears: PromiseWithResolvers<void>
  /** Told the units of each change. */
  onNews: (units: News['units']) => void
}

/** One desk follows the file, as its browser does, until the signal. */
async function follow(desk: Desk, seen: Seen, signal: AbortSignal): Promise<void> {
  let known: SeenOfFile | null = null
  while (!signal.aborted) {
    try {
      const followed = await desk.client.file.follow({ seen: known, seconds: 600 }, { signal })
      for await (const news of followed) {
        const { file, revision, renewals, madeOf } = news.state
        known = { file, revision, renewals, madeOf }
        desk.hears.resolve()
        if (news.since !== null) desk.onNews(news.units)
      }
    } catch (error) {
      if (!signal.aborted) seen.troubles.push(`desk ${desk.at} follows: ${String(error)}`)
    }
  }
}

const timed = async (into: number[], work: () => Promise<unknown>): Promise<void> => {
  const started = performance.now()
  await work()
  into.push(performance.now() - started)
}

/** The rig that a desk weighs, and its tractor. */
const rigOf = (at: number): number => 2 * at + 1
const unitOf = (at: number): string => `T${String(rigOf(at)).padStart(5, '0')}`

/** One minute at a desk: a weigh-in of its own rig, told to the next desk, and the pages around it. */
async function minuteAt(desk: Desk, next: Desk, minute: number, seen: Seen): Promise<void> {
  const unit = unitOf(desk.at)
  const sentAt = performance.now()
  const told = new Promise<void>((resolve) => {
    next.onNews = (units) => {
      if (units !== null && !units.includes(unit)) return
      seen.changes.push(performance.now() - sentAt)
      resolve()
    }
  })
  await timed(seen.saves, () => desk.client.weighIn.save(weighInOf(rigOf(desk.at), timeNow() - 60_000, minute)))
  await timed(seen.pages, () => desk.client.unit.sheet({ unit }))
  await timed(seen.pages, () => desk.client.today.page({}))
  await timed(seen.pages, () => desk.client.evidence.tickets({}))
  const isTold = await Promise.race([told.then(() => true), setTimeout(20_000, false)])
  if (!isTold) seen.troubles.push(`desk ${next.at} was not told of a save within 20 s`)
}

/** Does the work of each minute at a desk. */
async function workAt(
  at: number,
  work: (minute: number) => Promise<void>,
  seen: Seen,
  { desks, minutes }: Settings,
): Promise<void> {
  const minuteMs = 60_000 / savesAMinute
  const begun = performance.now()
  for (let minute = 0; minute < minutes * savesAMinute; minute += 1) {
    // Desks do not all save at the same moment, nor two of them one right after the other.
    const due = begun + minute * minuteMs + (at * minuteMs) / desks
    await setTimeout(Math.max(0, due - performance.now()))
    await work(minute).catch((error: unknown) => seen.troubles.push(`desk ${at}: ${String(error)}`))
  }
}

/** The largest memory that a process has held, bytes; undefined where the system does not say. */
function peakOf({ child }: HouseProcess): number | undefined {
  if (process.platform !== 'linux') return undefined
  const line = /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${child.pid}/status`, 'utf8'))
  return line ? Number(line[1]) * 1024 : undefined
}

async function prepare(home: string, { desks, units }: Settings): Promise<string> {
  const file = join(home, 'fleet.tareline')
  console.log(`Making a fleet of ${whole(units)} units for ${whole(desks)} desks…`)
  writeLargeFleet(join(home, 'fleet'), { units, readingRows: rowsOfUnit * units })
  await runTareline('import', join(home, 'fleet'), '--db', file)
  const door = await openDoor(file)
  for (let at = 0; at < desks; at += 1)
    await door.add(personAt(at), { role: 'counter', units: [] }, passwordOf(personAt(at)))
  await door.close()
  return file
}

async function measure(settings: Settings): Promise<Measurement[]> {
  const { desks, windows, units } = settings
  if (!Number.isInteger(desks) || !(desks - windows >= 2) || !(units >= 4 * desks) || !(settings.minutes > 0))
    throw new Error('two desks or more without a window, four units for each desk, and some minutes are needed')
  const home = mkdtempSync(join(tmpdir(), 'tareline-desks-'))
  const seen: Seen = { saves: [], pages: [], changes: [], troubles: [] }
  const inWindows = { saves: [] as number[], pages: [] as number[] }
  const browser = windows > 0 ? await openBrowser() : undefined
  const leave = new AbortController()
  let house: HouseProcess | undefined
  try {
    house = startHouse(await prepare(home, settings), home, await freePort())
    const where = await house.ready
    const all: Desk[] = []
    for (let at = 0; at < desks - windows; at += 1) {
      const session = connectTo(where)
      session.on('close', () => {
        if (!leave.signal.aborted) seen.troubles.push(`the connection of desk ${at} was cut`)
      })
      const cookie = await signIn(session, personAt(at), passwordOf(personAt(at)))
      all.push({
        at,
        session,
        client: clientOverHttp2(session, where, cookie),
        hears: Promise.withResolvers(),
        onNews: () => {},
      })
    }
    // Whatever the new day asks for is done before anything is measured; a look at the Roster has it begun.
    const [first] = all as [Desk, ...Desk[]]
    await first.client.roster.list()
    while (!(await first.client.file.state()).current) await setTimeout(500)
    const followed = all.map((desk) => follow(desk, seen, leave.signal))
    await Promise.all(all.map(({ hears }) => hears.promise))
    const shown: WindowDesk[] = []
    for (let at = desks - windows; browser && at < desks; at += 1) {
      const person = { name: personAt(at), password: passwordOf(personAt(at)) }
      const { origin } = where
      const desk = await openWindowDesk(browser, { origin, at, ...person }, (text) => seen.troubles.push(text))
      await lookAround(desk, { origin, unit: unitOf(at) })
      shown.push(desk)
    }
    const told = {
      saved: (ms: number) => inWindows.saves.push(ms),
      seen: (ms: number) => inWindows.pages.push(ms),
    }
    await Promise.all([
      ...all.map((desk, at) => {
        const next = all[(at + 1) % all.length] as Desk
        return workAt(desk.at, (minute) => minuteAt(desk, next, minute, seen), seen, settings)
      }),
      ...shown.map((desk) => {
        const place = { origin: where.origin, unit: unitOf(desk.at) }
        return workAt(desk.at, () => minuteAtWindow(desk, place, told), seen, settings)
      }),
    ])
    const peak = peakOf(house)
    leave.abort()
    for (const { session } of all) session.close()
    await Promise.all(followed)
    for (const trouble of new Set(seen.troubles)) console.log(trouble)
    const p95 = (values: readonly number[]) =>
      `${milliseconds(quantile(values, 0.95))}, half under ${milliseconds(quantile(values, 0.5))} (${whole(values.length)})`
    const p95Goal = (values: readonly number[], ms: number): Goal => atMost(quantile(values, 0.95), ms, milliseconds)
    return [
      { what: 'weigh-in saved, p95', measured: p95(seen.saves), goal: p95Goal(seen.saves, 500) },
      {
        what: 'page, p95: a unit, Today, a page of tickets',
        measured: p95(seen.pages),
        goal: p95Goal(seen.pages, 1000),
      },
      ...(windows === 0
        ? []
        : [
            {
              what: 'in a real window: a reading saved, from the click, p95',
              measured: p95(inWindows.saves),
              goal: p95Goal(inWindows.saves, 500),
            },
            {
              what: 'a page there, from its address, p95: Weigh now, Today, tickets, Roster',
              measured: p95(inWindows.pages),
              goal: p95Goal(inWindows.pages, 1000),
            },
          ]),
      { what: 'a save is seen at another desk, p95', measured: p95(seen.changes), goal: p95Goal(seen.changes, 2000) },
      {
        what: 'memory of the house, at most',
        measured: peak === undefined ? 'not told' : megabytes(peak),
        ...(peak === undefined ? {} : { goal: atMost(peak, 1e9, megabytes) }),
      },
      {
        what: 'cut, locked or refused',
        measured: whole(seen.troubles.length),
        goal: atMost(seen.troubles.length, 0, whole),
      },
    ]
  } finally {
    leave.abort()
    await browser?.close()
    house?.child.kill('SIGTERM')
    await house?.ended
    rmSync(home, { recursive: true, force: true })
  }
}

/** A house with its desks: each signed in over HTTP/2, following the file, with a save a minute. */
export const desks = (settings: Settings): Section => ({
  title: `A house with ${settings.desks} desks, ${settings.windows} of them real windows, on ${settings.units} units for ${settings.minutes} min, a save a desk a minute; each window has shown its pages once`,
  against: 'what is asked for',
  measure: () => measure(settings),
})
