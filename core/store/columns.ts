type Numbers = Float64Array<ArrayBuffer> | Int32Array<ArrayBuffer> | Uint8Array<ArrayBuffer>

/**
 * A column of numbers that is filled row by row. Typed, so that a million of them take no more memory than their bits
 * and the collector passes them by.
 */
export class Column<List extends Numbers> {
  #list: List
  length = 0

  constructor(list: List) {
    this.#list = list
  }

  push(value: number): void {
    if (this.length === this.#list.length) {
      const longer = new (this.#list.constructor as new (size: number) => List)(2 * this.length)
      longer.set(this.#list)
      this.#list = longer
    }
    this.#list[this.length] = value
    this.length += 1
  }

  /** What was pushed; nothing may be pushed any more. */
  done(): List {
    const isNearlyFull = this.length > 0.9 * this.#list.length
    return (isNearlyFull ? this.#list.subarray(0, this.length) : this.#list.slice(0, this.length)) as List
  }
}

/** Columns for so many rows, as far as that is known: then nothing is copied while they are filled. */
export function columnsFor(rows: number) {
  const size = Math.max(64, rows)
  return {
    /** Ids, times, psi and lb; NaN stands for what is not known. */
    figures: () => new Column(new Float64Array(size)),
    /** Places in another list; -1 stands for none. */
    places: () => new Column(new Int32Array(size)),
    /** Small whole numbers from 0 to 255. */
    codes: () => new Column(new Uint8Array(size)),
  }
}
