const unit32 = 1 / 4_294_967_296

/** FNV-1a with a final mix: spreads a label over 32 bits. */
function hash(text: string): number {
  let h = 0x811c9dc5
  for (let i = 0; i < text.length; i += 1) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193)
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b)
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35)
  return (h ^ (h >>> 16)) >>> 0
}

/**
 * A seeded stream of random numbers (the small fast counting generator sfc32, 128 bits of state). Streams forked by
 * label are independent of how much was drawn elsewhere, so that a change in one part of a simulation leaves the rest
 * as it was.
 */
export class Random {
  readonly #seed: string
  #a: number
  #b: number
  #c: number
  #counter = 1
  #spare: number | undefined

  constructor(seed: string | number) {
    this.#seed = String(seed)
    this.#a = hash(`${this.#seed}/a`)
    this.#b = hash(`${this.#seed}/b`)
    this.#c = hash(`${this.#seed}/c`)
    for (let i = 0; i < 12; i += 1) this.next()
  }

  fork(label: string): Random {
    return new Random(`${this.#seed}/${label}`)
  }

  /** Uniform in [0, 1). */
  next(): number {
    const sum = (((this.#a + this.#b) | 0) + this.#counter) | 0
    this.#counter = (this.#counter + 1) | 0
    this.#a = this.#b ^ (this.#b >>> 9)
    this.#b = (this.#c + (this.#c << 3)) | 0
    this.#c = (((this.#c << 21) | (this.#c >>> 11)) + sum) | 0
    return (sum >>> 0) * unit32
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.next()
  }

  /** A whole number from low to high, both possible. */
  whole(low: number, high: number): number {
    return low + Math.floor(this.next() * (high - low + 1))
  }

  chance(share: number): boolean {
    return this.next() < share
  }

  /** +1 or -1. */
  sign(): 1 | -1 {
    return this.next() < 0.5 ? 1 : -1
  }

  /** Normal with mean zero, by the polar method of Marsaglia and Bray. */
  normal(sd: number): number {
    if (this.#spare !== undefined) {
      const value = this.#spare * sd
      this.#spare = undefined
      return value
    }
    for (;;) {
      const u = 2 * this.next() - 1
      const v = 2 * this.next() - 1
      const s = u * u + v * v
      if (s > 0 && s < 1) {
        const factor = Math.sqrt((-2 * Math.log(s)) / s)
        this.#spare = v * factor
        return u * factor * sd
      }
    }
  }

  /** Normal cut off beyond `limit` by drawing again; limit in the unit of sd. */
  clippedNormal(sd: number, limit: number): number {
    for (;;) {
      const value = this.normal(sd)
      if (Math.abs(value) <= limit) return value
    }
  }

  weibull(shape: number, scale: number): number {
    return scale * (-Math.log(1 - this.next())) ** (1 / shape)
  }

  pick<T>(items: readonly T[]): T {
    if (items.length === 0) throw new RangeError('nothing to pick from')
    return items[Math.floor(this.next() * items.length)] as T
  }

  /** One of the items, each as often as its weight says. */
  weighted<T>(items: readonly (readonly [item: T, weight: number])[]): T {
    let left = this.next() * items.reduce((sum, [, weight]) => sum + weight, 0)
    for (const [item, weight] of items) {
      left -= weight
      if (left < 0) return item
    }
    return (items[items.length - 1] as readonly [T, number])[0]
  }

  shuffled<T>(items: readonly T[]): T[] {
    const out = [...items]
    for (let i = out.length - 1; i > 0; i -= 1) {
      const j = this.whole(0, i)
      const held = out[i] as T
      out[i] = out[j] as T
      out[j] = held
    }
    return out
  }
}
