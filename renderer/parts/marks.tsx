import type { ReactNode } from 'react'
import type { Severity, Trust } from '#core/findings/finding.ts'
import type { Verdict } from '#core/weight/verdict.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import './marks.css'

/**
 * One silhouette a state, told apart without colour: from a whole disc with its line, through a broken one, to an empty
 * broken ring.
 */
const outlines: Record<Trust, string> = {
  sound: 'M8 1.3a6.7 6.7 0 1 0 0 13.4a6.7 6.7 0 0 0 0-13.4ZM3.2 10.6 12.2 4l1 1.4-9 6.6Z',
  'due soon': 'M8 1.3a6.7 6.7 0 0 1 0 13.4a6.7 6.7 0 0 1 0-13.4ZM8 2.9a5.1 5.1 0 0 0 0 10.2Z',
  overdue: 'M1.4 2.4h13.2L8 14.8Z',
  doubtful: 'M8 .6 15.4 8 8 15.4.6 8ZM8 3 3 8l5 5 5-5ZM8 5.8a2.2 2.2 0 1 0 0 4.4a2.2 2.2 0 0 0 0-4.4Z',
  upset: 'M7 .8a6 6 0 0 0 0 12ZM9 3.2a6 6 0 0 1 0 12Z',
  uncalibrated: [
    'M9.57 1.18A7 7 0 0 1 14.0 4.39L12.2 5.48A4.9 4.9 0 0 0 9.1 3.23Z',
    'M14.97 7.39A7 7 0 0 1 13.28 12.59L11.7 11.21A4.9 4.9 0 0 0 12.88 7.57Z',
    'M10.74 14.44A7 7 0 0 1 5.26 14.44L6.09 12.51A4.9 4.9 0 0 0 9.91 12.51Z',
    'M2.72 12.59A7 7 0 0 1 1.03 7.39L3.12 7.57A4.9 4.9 0 0 0 4.3 11.21Z',
    'M2.0 4.39A7 7 0 0 1 6.43 1.18L6.9 3.23A4.9 4.9 0 0 0 3.8 5.48Z',
  ].join(''),
}

/** The colour of a trust state. */
export const trustColour = (trust: Trust): string => `var(--t-${trust.replace(' ', '-')})`

/** The shape of a trust state; it never stands without its word. */
export const TrustShape = ({ trust }: { trust: Trust }) => (
  <svg viewBox="0 0 16 16" width="14" height="14" aria-hidden="true">
    <path d={outlines[trust]} fill={trustColour(trust)} fillRule="evenodd" />
  </svg>
)

/** A trust state as shape and word; null is a unit without a sensed group. */
export function TrustMark({ trust }: { trust: Trust | null }) {
  if (trust === null) return <span className="mark quiet">{phrase('not sensed')}</span>
  return (
    <span className="mark">
      <TrustShape trust={trust} />
      {word(trust)}
    </span>
  )
}

interface MarkProps {
  readonly className: string
  readonly word: string
  /** The trust state whose colour it has. */
  readonly like: Trust
  readonly children: ReactNode
}

/** Something judged, as shape and word. */
const Mark = ({ className, word, like, children }: MarkProps) => (
  <span className={`mark ${className}`} data-word={word}>
    <svg viewBox="0 0 16 16" width="13" height="13" aria-hidden="true" style={{ color: trustColour(like) }}>
      {children}
    </svg>
    {word}
  </span>
)

/** How something went, as shape and word. */
export const OutcomeMark = ({ well, word }: { well: boolean; word: string }) => (
  <Mark
    className={well ? 'outcome-mark' : 'outcome-mark outcome-bad'}
    word={word}
    like={well ? 'sound' : 'uncalibrated'}
  >
    <path
      d={well ? 'M2.5 8.5 6.5 12.5 13.5 3.5' : 'M3 3 13 13M13 3 3 13'}
      fill="none"
      stroke="currentColor"
      strokeWidth="2.2"
    />
  </Mark>
)

/** A beam and where the load hangs to it: below, across, above. Told apart without colour. */
const shapes: Record<Verdict, readonly [path: string, like: Trust]> = {
  under: ['M1 3h14M8 8v6M5 11h6', 'sound'],
  'too close to call': ['M1 8h3M12 8h3M8 3v10M5 5.500h6M5 10.500h6', 'overdue'],
  over: ['M1 13h14M3 3h10v6H3Z', 'uncalibrated'],
}

/** What a weight is against its limit, as shape and word. */
export function VerdictMark({ verdict }: { verdict: Verdict }) {
  const [path, like] = shapes[verdict]
  return (
    <Mark className="verdict-mark" word={word(verdict)} like={like}>
      <path d={path} fill={verdict === 'over' ? 'currentColor' : 'none'} stroke="currentColor" strokeWidth="1.8" />
    </Mark>
  )
}

const severities: Record<Severity, readonly [shape: ReactNode, like: Trust]> = {
  stop: [<path key="stop" d="M2 2h12v12H2Z" fill="currentColor" />, 'uncalibrated'],
  warn: [
    <path
      key="warn"
      d="M8 2 14.5 14h-13Z"
      fill="none"
      stroke="currentColor"
      strokeWidth="1.8"
      strokeLinejoin="round"
    />,
    'overdue',
  ],
  note: [<path key="note" d="M2 8h12" stroke="currentColor" strokeWidth="2.4" />, 'due soon'],
}

/** How grave a finding is, as shape and word. */
export function SeverityMark({ severity }: { severity: Severity }) {
  const [shape, like] = severities[severity]
  return (
    <Mark className="severity-mark" word={word(severity)} like={like}>
      {shape}
    </Mark>
  )
}
