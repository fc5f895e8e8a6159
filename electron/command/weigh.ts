import { ByteText } from '#core/exchange/documents/byte-text.ts'
import { weighedStretches, type WriteWeighed, writeJson } from '#core/exchange/weigh-document.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { openStore } from '#core/store/open.ts'
import { type WeighedReading, weighNamed } from '#core/store/weigh-each.ts'
import { type Command, dbOption, Parts } from '#electron/command/command.ts'
import { weighingLine, weighingText } from '#electron/command/weighing-text.ts'
import { withStore } from '#electron/command/with-store.ts'

const writeLine: WriteWeighed = (out, { reading, ready, weights }) =>
  out.text(weighingLine(reading.name, ready, weights))

async function* everyReading(
  file: string,
  write: WriteWeighed,
  before: string,
  between: string,
  after: string,
): AsyncGenerator<string | Uint8Array> {
  const store = await openStore(file, { mustExist: true })
  try {
    yield before
    yield* weighedStretches(store, write, between)
    yield after
  } finally {
    await store.close()
  }
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
  options: {
    db: dbOption,
    reading: { type: 'string', value: 'R', about: 'only this reading; every reading where it is left out' },
  },
  run: async (input) => {
    const file = input.text('db')
    const name = input.textOr('reading')
    if (name === undefined) {
      return {
        document: new Parts(() => everyReading(file, writeJson, '[\n', ',\n', '\n]\n')),
        text: new Parts(() => everyReading(file, writeLine, '', '\n', '\n')),
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
