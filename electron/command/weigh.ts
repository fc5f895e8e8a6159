import { TarelineError } from '#core/fleet/problem.ts'
import { openStore } from '#core/store/open.ts'
import { type WeighedReading, weighEach, weighNamed } from '#core/store/weigh-each.ts'
import { ByteText } from '#electron/command/byte-text.ts'
import { type Command, dbOption, Parts } from '#electron/command/command.ts'
import { writeWeighing } from '#electron/command/weighing-json.ts'
import { weighingLine, weighingText } from '#electron/command/weighing-text.ts'
import { withStore } from '#electron/command/with-store.ts'

type Write = (out: ByteText, weighed: WeighedReading) => void
const writeJson: Write = (out, { reading, ready, weights }) => writeWeighing(out, reading.name, ready, reading, weights)
const writeLine: Write = (out, { reading, ready, weights }) => out.text(weighingLine(reading.name, ready, weights))

/** Every reading of the file in the order of the record, each text but the first after `between`. A part is good until the next one is asked for. */
async function* eachReading(file: string, write: Write, between: string): AsyncGenerator<Uint8Array> {
  const store = await openStore(file, { mustExist: true })
  const made = new ByteText()
  const ordered = new ByteText()
  const separator = Buffer.from(between)
  let isFirst = true
  try {
    const spans = weighEach(store, (weighed): readonly [from: number, to: number] => {
      const from = made.length
      write(made, weighed)
      return [from, made.length]
    })
    for await (const stretch of spans) {
      ordered.clear()
      for (const [from, to] of stretch) {
        if (!isFirst) ordered.bytes(separator)
        ordered.bytes(made.slice(from, to))
        isFirst = false
      }
      made.clear()
      yield ordered.slice()
    }
  } finally {
    await store.close()
  }
}

async function* around(before: string, parts: AsyncIterable<Uint8Array>, after: string): AsyncGenerator<string | Uint8Array> {
  yield before
  yield* parts
  yield after
}

function documentOf(weighed: WeighedReading): unknown {
  const out = new ByteText()
  writeJson(out, weighed)
  return JSON.parse(Buffer.from(out.slice()).toString())
}

/** Turns the pressures of readings into weights. */
export const weighCommand: Command = {
  name: 'weigh',
  summary: 'Say what readings weigh: groups, gross, cargo and bridge sets, how sure, and how much more can go on.',
  arguments: [],
  options: { db: dbOption, reading: { type: 'string', value: 'R', about: 'only this reading; every reading where it is left out' } },
  run: async (input) => {
    const file = input.text('db')
    const name = input.textOr('reading')
    if (name === undefined) {
      return {
        document: new Parts(() => around('[\n', eachReading(file, writeJson, ',\n'), '\n]\n')),
        text: new Parts(() => around('', eachReading(file, writeLine, '\n'), '\n')),
      }
    }
    return withStore(file, async (store) => {
      const weighed = await weighNamed(store, name)
      if (!weighed) throw new TarelineError('no-such-reading', `There is no reading ${name} in this file.`)
      const { reading, ready, weights } = weighed
      return { document: [documentOf(weighed)], text: weighingText(name, ready, reading, weights) }
    })
  },
}
