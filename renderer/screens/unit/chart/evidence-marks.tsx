import type { ReactNode } from 'react'
import { phrase } from '#core/words/phrase.ts'
import type { CheckKind } from '../track/track-series.ts'

export type EvidenceMark = CheckKind | 'calibration' | 'event' | 'break'

/**
 * One silhouette a kind, drawn around 0,0 and about 12 px wide, so that print and colour-blind eyes tell them apart.
 */
const shapes: Record<EvidenceMark, ReactNode> = {
  check: <circle r="3.2" fill="var(--t-surface)" stroke="var(--t-accent)" strokeWidth="1.8" />,
  alarm: <circle r="4" fill="var(--t-accent)" stroke="var(--t-surface)" strokeWidth="1" />,
  missed: <path d="M0-6 5.6 4.4H-5.6Z" fill="var(--t-doubtful)" stroke="var(--t-surface)" strokeWidth="1" />,
  slip: <path d="M-4-4 4 4M4-4-4 4" fill="none" stroke="var(--t-ink)" strokeWidth="2.2" />,
  calibration: (
    <rect x="-4.5" y="-4.5" width="9" height="9" fill="var(--t-ink)" stroke="var(--t-surface)" strokeWidth="1" />
  ),
  event: <path d="M-4.5-5H4.5L0 4Z" fill="var(--t-surface)" stroke="var(--t-ink)" strokeWidth="1.4" />,
  break: (
    <path d="M2.8-8-5 1.2H-.4L-2.8 8 5-1.2H.4Z" fill="var(--t-upset)" stroke="var(--t-surface)" strokeWidth="1.2" />
  ),
}

export const markWords: Record<EvidenceMark, string> = {
  check: phrase('check weighing'),
  alarm: phrase('check within a lasting shift'),
  missed: phrase('check that missed'),
  slip: phrase('check with a slip'),
  calibration: phrase('calibration'),
  event: phrase('recorded event'),
  break: phrase('work that broke the line'),
}

/** A mark at a place of a chart. */
export const MarkAt = ({ mark, x, y }: { mark: EvidenceMark; x: number; y: number }) => (
  <g transform={`translate(${x} ${y})`}>{shapes[mark]}</g>
)

interface MarkBeyondProps {
  readonly mark: EvidenceMark
  readonly x: number
  readonly y: number
  /** Below 0, above 0: it stands inside the edge that it passed, with an arrow. */
  readonly beyond: number
}

/** A mark that may lie too far off for its chart. */
export const MarkBeyond = ({ beyond, ...place }: MarkBeyondProps) => (
  <g>
    <MarkAt {...place} />
    {beyond !== 0 && (
      <path
        d={beyond > 0 ? 'M-3-10h6L0-15Z' : 'M-3 10h6L0 15Z'}
        transform={`translate(${place.x} ${place.y})`}
        fill="var(--t-ink)"
      />
    )}
  </g>
)

interface MarkKeysProps {
  readonly marks: readonly EvidenceMark[]
  readonly drawn: ReadonlySet<EvidenceMark | null>
}

/** Marks with their words, for the keys of a chart: those of a list that it has drawn. */
export const MarkKeys = ({ marks, drawn }: MarkKeysProps) =>
  marks
    .filter((mark) => drawn.has(mark))
    .map((mark) => (
      <span key={mark}>
        <svg viewBox="-8.5 -8.5 17 17" width="16" height="16" aria-hidden="true">
          {shapes[mark]}
        </svg>
        {markWords[mark]}
      </span>
    ))
