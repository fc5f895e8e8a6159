import type { Verdict } from '#core/weight/verdict.ts'
import './verdict-mark.css'

/** A beam and where the load hangs to it: below, across, above. Told apart without colour. */
const shapes: Record<Verdict, string> = {
  under: 'M1 3h14M8 8v6M5 11h6',
  'too close to call': 'M1 8h3M12 8h3M8 3v10M5 5.500h6M5 10.500h6',
  over: 'M1 13h14M3 3h10v6H3Z',
}

/** What a weight is against its limit, as shape and word. */
export function VerdictMark({ verdict }: { verdict: Verdict }) {
  return (
    <span className="verdict-mark" data-verdict={verdict}>
      <svg viewBox="0 0 16 16" width="13" height="13" aria-hidden="true">
        <path
          d={shapes[verdict]}
          fill={verdict === 'over' ? 'currentColor' : 'none'}
          stroke="currentColor"
          strokeWidth="1.8"
        />
      </svg>
      {verdict}
    </span>
  )
}
