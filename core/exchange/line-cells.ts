const comma = 44

/**
 * The cells of one line as places in the text that it stands in. Of a million rows most repeat what the row before said
 * and name what was named before: a text made of each cell would take longer than all that is done with it.
 */
export class LineCells {
  #text = ''
  /** Where each cell starts, and where one more would. */
  readonly #starts: Int32Array

  constructor(width: number) {
    this.#starts = new Int32Array(width + 1)
  }

  /** Takes a line without quotes from its start to its end; false where it has more cells than the width, or fewer. */
  read(text: string, start: number, end: number): boolean {
    const starts = this.#starts
    const width = starts.length - 1
    this.#text = text
    starts[0] = start
    let cells = 1
    for (let at = start; at < end; at += 1) {
      if (text.charCodeAt(at) !== comma) continue
      if (cells === width) return false
      starts[cells] = at + 1
      cells += 1
    }
    starts[cells] = end + 1
    return cells === width
  }

  /** Becomes another line of the same width, which may then go on to the next. */
  become(other: LineCells): void {
    this.#text = other.#text
    this.#starts.set(other.#starts)
  }

  #startOf(position: number): number {
    return this.#starts[position] ?? 0
  }

  #endOf(position: number): number {
    return (this.#starts[position + 1] ?? 1) - 1
  }

  isEmpty(position: number): boolean {
    return this.#startOf(position) === this.#endOf(position)
  }

  /** The text of a cell; an empty one where there is no such column. */
  textOf(position: number): string {
    return position < 0 ? '' : this.#text.slice(this.#startOf(position), this.#endOf(position))
  }

  /** Whether some cells have the same texts as those of another line. */
  isLike(other: LineCells, positions: readonly number[]): boolean {
    for (const position of positions) {
      const start = this.#startOf(position)
      const otherStart = other.#startOf(position)
      const length = this.#endOf(position) - start
      if (length !== other.#endOf(position) - otherStart) return false
      // Lines that differ mostly do so near the end of a cell: of a number, a time.
      for (let at = length - 1; at >= 0; at -= 1)
        if (this.#text.charCodeAt(start + at) !== other.#text.charCodeAt(otherStart + at)) return false
    }
    return true
  }

  /** A number that follows from the texts of some cells. */
  hashOf(positions: readonly number[]): number {
    const text = this.#text
    let hash = 0
    for (const position of positions) {
      const end = this.#endOf(position)
      for (let at = this.#startOf(position); at < end; at += 1) hash = Math.imul(hash ^ text.charCodeAt(at), 0x01000193)
      hash = Math.imul(hash ^ comma, 0x01000193)
    }
    return hash ^ (hash >>> 15)
  }

  /** Whether some cells have the texts that `write` has put into a list from a place on. */
  isWritten(positions: readonly number[], list: Uint16Array, from: number): boolean {
    const text = this.#text
    let to = from
    for (const position of positions) {
      const end = this.#endOf(position)
      for (let at = this.#startOf(position); at < end; at += 1, to += 1)
        if (list[to] !== text.charCodeAt(at)) return false
      if (list[to] !== comma) return false
      to += 1
    }
    return true
  }

  /** Puts the texts of some cells into a list from a place on, where there is room for them; answers where they end. */
  write(positions: readonly number[], list: Uint16Array, from: number): number {
    let to = from
    for (const position of positions) {
      const end = this.#endOf(position)
      for (let at = this.#startOf(position); at < end; at += 1, to += 1) list[to] = this.#text.charCodeAt(at)
      list[to] = comma
      to += 1
    }
    return to
  }
}

/** Places of a table of what was found; a power of two. */
const places = 1 << 16
/** Places that are looked at before all is forgotten. */
const mostSteps = 16
/** Signs of all texts that are remembered; few rows have longer ones. */
const mostSigns = 1 << 21

/** A text of its own: a part of a large one keeps that in memory. */
const apart = (text: string): string => Buffer.from(text).toString()

/**
 * Remembers what was found for the texts of some cells, so that neither they nor what they stand for is made again.
 * `find` is asked where texts are new; what it answers undefined to is asked again.
 */
export function foundByCells<V extends NonNullable<unknown> | null>(
  positions: readonly number[],
  find: (...texts: readonly string[]) => V | undefined,
): (cells: LineCells) => V | undefined {
  // Numbers that lie side by side: a million look-ups among objects would mostly wait for the memory.
  const hashes = new Int32Array(places)
  const starts = new Int32Array(places).fill(-1)
  const values = new Array<V | undefined>(places)
  let signs = new Uint16Array(1 << 12)
  let used = 0
  const forget = () => {
    starts.fill(-1)
    values.fill(undefined)
    used = 0
  }
  const remember = (cells: LineCells, texts: readonly string[], at: number, hash: number, value: V) => {
    const length = texts.reduce((sum, text) => sum + text.length + 1, 0)
    if (used + length > mostSigns) return forget()
    if (used + length > signs.length) {
      const more = new Uint16Array(Math.max(2 * signs.length, used + length))
      more.set(signs)
      signs = more
    }
    hashes[at] = hash
    starts[at] = used
    values[at] = value
    used = cells.write(positions, signs, used)
  }
  return (cells) => {
    const hash = cells.hashOf(positions)
    let at = hash & (places - 1)
    for (let step = 0; (starts[at] ?? 0) >= 0; step += 1) {
      if (hashes[at] === hash && cells.isWritten(positions, signs, starts[at] ?? 0)) return values[at]
      if (step === mostSteps) forget()
      else at = (at + 1) & (places - 1)
    }
    const texts = positions.map((position) => apart(cells.textOf(position)))
    const value = find(...texts)
    if (value !== undefined) remember(cells, texts, at, hash, value)
    return value
  }
}
