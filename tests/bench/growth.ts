import { copyFileSync } from 'node:fs'
import { largeDatabase, largeFolder, rowsOfUnit, scratchDatabase } from '#tests/bench/data.ts'
import { medianMs, megabytes, milliseconds, seconds, whole } from '#tests/bench/figures.ts'
import { openApp } from '#tests/bench/open-app.ts'
import { runProgram, runTareline, withPeakMemory } from '#tests/bench/program.ts'
import { type Measurement, type Section, atMost } from '#tests/bench/section.ts'
import type { FleetWork } from '#core/words/touch.ts'
import type { Client } from '#tests/api/windows.ts'

const sizes = [1_000, 10_000, 100_000]
const nowhere = 'zzq-nowhere'
/** What is asked of an answer, whatever the fleet's size. */
const answerMs = 100
const answerBytes = 200_000

/** Questions of screens that must not grow with the fleet. */
const looks = {
  "Roster's first page": (client) => client.roster.list({ sort: 'trust', retired: false }),
  'Heavy Log of one unit': (client) => client.heavy.list({ unit: 'T00007', offset: 0, limit: 100 }),
  'tickets with a text found nowhere': (client) => client.evidence.tickets({ text: nowhere }),
  'readings with a text found nowhere': (client) => client.evidence.readings({ text: nowhere }),
  'calibrations with a text found nowhere': (client) => client.evidence.calibrations({ text: nowhere }),
  'sensors with a text found nowhere': (client) => client.fleet.sensors({ text: nowhere }),
  "Fleet's lists": (client) => client.fleet.basics(),
  'the shop’s plan': (client) => client.bench.plan({}),
} satisfies Readonly<Record<string, (client: Client) => Promise<unknown>>>
type Look = keyof typeof looks
const lookNames = Object.keys(looks) as Look[]

interface Grown {
  readonly units: number
  readonly importMs: number
  readonly took: Readonly<Record<FleetWork, number>>
  readonly peakBytes: number
  readonly asked: Readonly<Record<Look, { readonly ms: number; readonly bytes: number }>>
}

async function measureAt(units: number): Promise<Grown> {
  const size = { units, readingRows: rowsOfUnit * units }
  const folder = await largeFolder(size)
  const { file, remove } = scratchDatabase('growth')
  try {
    const { ms: importMs } = await runTareline('import', folder, '--db', file)
    remove()
    copyFileSync(await largeDatabase(size), file)
    const peak = withPeakMemory()
    const { output } = await runProgram(process.execPath, [...peak.args, 'tests/bench/catch-up-apart.ts', file], {
      env: peak.env,
    })
    const took = JSON.parse(output) as Grown['took']
    const { client, fleet } = await openApp(file)
    try {
      const asked: Partial<Record<Look, { ms: number; bytes: number }>> = {}
      for (const name of lookNames) {
        let bytes = 0
        const ms = await medianMs(5, async () => {
          bytes = JSON.stringify(await looks[name](client)).length
        })
        asked[name] = { ms, bytes }
      }
      return { units, importMs, took, peakBytes: peak.read(), asked: asked as Grown['asked'] }
    } finally {
      await fleet.close()
    }
  } finally {
    remove()
  }
}

/** The power of the size with which a time grows from one size to another: 1 where it doubles with it. */
const exponent = (a: Grown, b: Grown, ms: (grown: Grown) => number): number =>
  Math.log(ms(b) / ms(a)) / Math.log(b.units / a.units)

/** How a time grows: at each size, and the exponents from one to the next; asked is held against the last of them. */
function rowOf(
  all: readonly Grown[],
  what: string,
  ms: (grown: Grown) => number,
  write: (ms: number) => string,
  asked?: number,
): Measurement {
  const exponents = all.slice(1).map((each, i) => exponent(all[i] as Grown, each, ms))
  const last = exponents.at(-1)
  return {
    what: `${what}: ${all.map(({ units }) => whole(units)).join(', ')} units`,
    measured: all.map((each) => write(ms(each))).join(', '),
    ratio: exponents.map((each) => `exponent ${each.toFixed(2)}`).join(', '),
    ...(asked === undefined || last === undefined ? {} : { goal: atMost(last, asked, (value) => value.toFixed(2)) }),
  }
}

async function measure(largest: number): Promise<Measurement[]> {
  const all: Grown[] = []
  for (const units of sizes.filter((size) => size <= largest)) all.push(await measureAt(units))
  const last = all.at(-1)
  if (!last) throw new Error(`the smallest fleet has ${sizes[0]} units`)
  return [
    rowOf(all, 'whole folder imported', ({ importMs }) => importMs, seconds),
    rowOf(all, 'learnt from', ({ took }) => took.learn, seconds),
    rowOf(all, 'everything judged and stored', ({ took }) => took.judge, seconds),
    rowOf(all, 'everything weighed and stored', ({ took }) => took.weigh, seconds, 1.05),
    { what: `  peak memory at ${whole(last.units)} units`, measured: megabytes(last.peakBytes) },
    ...lookNames.flatMap((name): Measurement[] => {
      const { ms, bytes } = last.asked[name]
      return [
        { ...rowOf(all, name, ({ asked }) => asked[name].ms, milliseconds), goal: atMost(ms, answerMs, milliseconds) },
        {
          what: '  bytes of the answer',
          measured: all.map(({ asked }) => whole(asked[name].bytes)).join(', '),
          goal: atMost(bytes, answerBytes, whole),
        },
      ]
    }),
  ]
}

/** largest: units of the largest fleet that is measured. */
export const growth = ({ largest }: { readonly largest: number }): Section => ({
  title:
    'How work and answers grow with the fleet, 100 rows of readings a unit; questions of screens through the procedures',
  against: 'the same with a tenth of the units',
  measure: () => measure(largest),
})
