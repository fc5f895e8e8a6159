interface Place {
  /** The chosen line, below 0 where none is. */
  readonly at: number
  readonly lines: number
  /** Lines in sight below the heading. */
  readonly inSight: number
}

/** The line that a key goes to in a list of lines; undefined for a key that goes nowhere. */
export function lineAfter(key: string, { at, lines, inSight }: Place): number | undefined {
  const page = Math.max(1, inSight - 1)
  const targets: Record<string, number> = {
    ArrowDown: at + 1,
    ArrowUp: at < 0 ? 0 : at - 1,
    PageDown: Math.max(at, 0) + page,
    PageUp: at - page,
    Home: 0,
    End: lines - 1,
  }
  const target = targets[key]
  return target === undefined ? undefined : Math.min(Math.max(target, 0), lines - 1)
}

/** Whole lines that a frame shows under its heading, which is as high as a line. */
export const linesInSight = (frame: HTMLElement | null, lineHeightPx: number): number =>
  Math.floor(((frame?.clientHeight ?? 0) - lineHeightPx) / lineHeightPx)
