const zero = 48
const dot = 46
const minus = 45
/** More than any number needs. */
const margin = 64

/**
 * Text written straight into bytes, for answers of a thousand million of them: as strings, the pieces alone would keep
 * the collector at work. The same memory serves again after `clear`.
 */
export class ByteText {
  #bytes = new Uint8Array(1 << 20)
  #view = Buffer.from(this.#bytes.buffer)
  #length = 0

  get length(): number {
    return this.#length
  }

  #grow(more: number): void {
    const larger = new Uint8Array(2 * (this.#length + more))
    larger.set(this.#bytes.subarray(0, this.#length))
    this.#bytes = larger
    this.#view = Buffer.from(larger.buffer)
  }

  /** Any text, in UTF-8. */
  text(text: string): void {
    // A UTF-16 unit takes at most three bytes.
    const most = 3 * text.length
    if (this.#length + most > this.#bytes.length) this.#grow(most)
    this.#length += this.#view.write(text, this.#length)
  }

  /** Bytes of text made ready before. */
  bytes(bytes: Uint8Array): void {
    if (this.#length + bytes.length > this.#bytes.length) this.#grow(bytes.length)
    this.#bytes.set(bytes, this.#length)
    this.#length += bytes.length
  }

  #digits(value: number, least: number): void {
    let count = least
    for (let power = 10 ** least; power <= value; power *= 10) count += 1
    let rest = value
    for (let place = this.#length + count - 1; place >= this.#length; place -= 1) {
      const next = Math.floor(rest / 10)
      this.#bytes[place] = zero + rest - 10 * next
      rest = next
    }
    this.#length += count
  }

  /** A finite number below 10¹⁵, rounded to so many decimal places; zeros at the end are left out. */
  number(value: number, places: number): void {
    if (this.#length + margin > this.#bytes.length) this.#grow(margin)
    const unit = 10 ** places
    let scaled = Math.round(Math.abs(value) * unit)
    if (value < 0 && scaled > 0) this.#bytes[this.#length++] = minus
    let left = places
    while (left > 0 && scaled % 10 === 0) {
      scaled /= 10
      left -= 1
    }
    const part = 10 ** left
    const whole = Math.floor(scaled / part)
    this.#digits(whole, 1)
    if (left === 0) return
    this.#bytes[this.#length++] = dot
    this.#digits(scaled - whole * part, left)
  }

  /** What was written from one place up to another; good until more is written. */
  slice(from = 0, to = this.#length): Uint8Array<ArrayBuffer> {
    return this.#bytes.subarray(from, to)
  }

  clear(): void {
    this.#length = 0
  }
}
