import { ByteText } from '#core/exchange/documents/byte-text.ts'
import { writeWeighing } from '#core/exchange/documents/weighing-json.ts'
import type { Store } from '#core/store/open.ts'
import { type WeighedReading, weighEach } from '#core/store/weigh-each.ts'

export type WriteWeighed = (out: ByteText, weighed: WeighedReading) => void

/** A reading as the JSON of the command line's format. */
export const writeJson: WriteWeighed = (out, { reading, ready, weights }) =>
  writeWeighing(out, reading.name, ready, reading, weights)

/** Some 6 kB of text a reading are held for a stretch. */
const inStretch = 5000

/**
 * Every reading of the record as text, each but the first after `between`, stretch by stretch. A part is good until the
 * next one is asked for.
 */
export async function* weighedStretches(
  store: Store,
  write: WriteWeighed,
  between: string,
): AsyncGenerator<Uint8Array> {
  const made = new ByteText()
  const ordered = new ByteText()
  const separator = Buffer.from(between)
  let isFirst = true
  const stretches = weighEach(
    store,
    (weighed): readonly [from: number, to: number] => {
      const from = made.length
      write(made, weighed)
      return [from, made.length]
    },
    inStretch,
  )
  for await (const spans of stretches) {
    ordered.clear()
    for (const [from, to] of spans) {
      if (!isFirst) ordered.bytes(separator)
      ordered.bytes(made.slice(from, to))
      isFirst = false
    }
    made.clear()
    yield ordered.slice()
  }
}
