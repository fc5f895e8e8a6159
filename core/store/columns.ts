type Numbers = Float64Array<SharedArrayBuffer> | Int32Array<SharedArrayBuffer> | Uint8Array<SharedArrayBuffer>

/** Numbers in memory that threads share: handed to another thread, they are not copied. */
export const shared = {
  /** Ids, times, psi and lb; NaN stands for what is not known. */
  figures: (size: number) => new Float64Array(new SharedArrayBuffer(8 * size)),
  /** Places in another list; -1 stands for none. */
  places: (size: number) => new Int32Array(new SharedArrayBuffer(4 * size)),
  /** Small whole numbers from 0 to 255. */
  codes: (size: number) => new Uint8Array(new SharedArrayBuffer(size)),
}

/**
 * A column of numbers that is filled row by row. Typed, so that a million of them take no more memory than their bits
 * and the collector passes them by.
 */
export class Column<List extends Numbers> {
  readonly #make: (size: number) => List
  #list: List
  length = 0

  constructor(make: (size: number) => List, size: number) {
    this.#make = make
    this.#list = make(size)
  }

  push(value: number): void {
    if (this.length === this.#list.length) this.#moveTo(this.#make(2 * this.length))
    this.#list[this.length] = value
    this.length += 1
  }

  /** What was pushed; nothing may be pushed any more. */
  done(): List {
    if (this.length <= 0.9 * this.#list.length) this.#moveTo(this.#make(this.length))
    return this.#list.subarray(0, this.length) as List
  }

  #moveTo(list: List): void {
    list.set(this.#list.subarray(0, this.length))
    this.#list = list
  }
}

/** Columns for so many rows, as far as that is known: then nothing is copied while they are filled. */
export function columnsFor(rows: number) {
  const size = Math.max(64, rows)
  return {
    figures: () => new Column(shared.figures, size),
    places: () => new Column(shared.places, size),
    codes: () => new Column(shared.codes, size),
  }
}
