/** Loaded before the app (`NODE_OPTIONS=--import`): its clock is off by TARELINE_CLOCK_MS, in every thread. */
const off = Number(process.env['TARELINE_CLOCK_MS'] ?? 0)
const TrueDate = Date

class OtherDate extends TrueDate {
  constructor(...given: unknown[]) {
    if (given.length === 0) super(TrueDate.now() + off)
    else super(...(given as []))
  }

  static override now(): number {
    return TrueDate.now() + off
  }
}

globalThis.Date = OtherDate as DateConstructor
