type Numbers = Float64Array<ArrayBuffer> | Int32Array<ArrayBuffer> | Uint8Array<ArrayBuffer>

/**
 * A column of numbers that grows row by row. Typed, so that a million of them take no more memory than their bits and
 * the collector passes them by.
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

  /** What was pushed, in a list of its own. */
  done(): List {
    return this.#list.slice(0, this.length) as List
  }
}

const firstRows = 64

/** Ids, times, psi and lb; NaN stands for what is not known. */
export const figureColumn = () => new Column(new Float64Array(firstRows))
/** Places in another list; -1 stands for none. */
export const placeColumn = () => new Column(new Int32Array(firstRows))
/** Small whole numbers from 0 to 255. */
export const codeColumn = () => new Column(new Uint8Array(firstRows))
